"""Tongued boards: what comes up first, what goes down later."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.tongues import laying, laying_order, lifting
from tests.floors import boards_and_joists, l_shape, marks, put, rectangle, strips


def ids(boards, *wanted):
    return [board.id for board in boards if board.mark in wanted]


def test_square_edged_boards_depend_on_no_neighbour():
    boards = strips(5)

    plan = lifting(boards, [2], "square")

    assert (plan.order, plan.extra_ids, plan.cut_ids) == ((2,), (), ())
    assert plan.sentence == "Lift B2.1."


def test_a_tongued_board_comes_up_after_every_course_beyond_it():
    plan = lifting(strips(5), [3], "tongued")

    assert (plan.order, plan.extra_ids, plan.cut_ids) == ((5, 4, 3), (4, 5), (3,))
    assert plan.sentence == (
        "To lift B3.1, B4.1 and B5.1 must come up first, last course first; "
        "or cut along the tongue of B3.1 instead."
    )


def test_boards_that_are_up_already_hold_nothing():
    boards = put(strips(6), "up", "B5.1")

    plan = lifting(boards, [3], "tongued")

    assert (plan.order, plan.extra_ids) == ((4, 3), (4,))


def test_a_missing_board_next_to_it_frees_a_board():
    plan = lifting(put(strips(6), "missing", "B4.1"), [3], "tongued")

    assert (plan.order, plan.extra_ids, plan.cut_ids) == ((3,), (), ())


def test_only_the_outermost_wanted_boards_need_their_tongue_cut():
    plan = lifting(strips(6), [2, 3, 4], "tongued")

    assert plan.cut_ids == (4,)
    assert plan.order == (6, 5, 4, 3, 2)


def test_the_last_course_comes_up_by_itself():
    assert lifting(strips(4), [4], "tongued").order == (4,)


def test_boards_up_already_are_left_out():
    plan = lifting(put(strips(3), "up", "B2.1"), [2], "tongued")

    assert plan.order == ()
    assert plan.sentence == "Nothing to lift: the boards are up already."


def test_a_loose_board_still_holds_the_tongue_before_it():
    assert lifting(put(strips(3), "loose", "B3.1"), [2], "tongued").order == (3, 2)


def test_staggered_ends_spread_what_must_come_up():
    boards, _ = boards_and_joists(rectangle(5000, 600))

    plan = lifting(boards, ids(boards, "B2.1"), "tongued")

    # Both boards of course 3 reach over B2.1, and all of course 4 over those.
    assert marks(boards, plan.extra_ids) == ["B3.1", "B3.2", "B4.1", "B4.2"]
    assert [mark.split(".")[0] for mark in marks(boards, plan.order)] == [
        "B4", "B4", "B3", "B3", "B2",
    ]  # fmt: skip


def test_boards_of_another_arm_of_the_floor_stay_down():
    boards, _ = boards_and_joists(l_shape(5000, 1500, 3500, 900), max_board_length_mm=1500)
    last_piece = max((b for b in boards if b.course == 4), key=lambda b: b.piece)

    plan = lifting(boards, [last_piece.id], "tongued")

    assert plan.extra_ids == ()  # the floor ends beyond it


def test_a_trapped_board_on_the_way_is_named():
    plan = lifting(strips(4), [2], "tongued", trapped=[1, 3])

    assert plan.trapped_ids == (3,)
    assert plan.sentence.endswith(
        "A partition stands on B3.1: saw beside it, not through its plate."
    )


def test_boards_laid_at_an_angle_still_meet():
    boards, _ = boards_and_joists(rectangle(3000, 2000), boards_run_deg=33)
    last = max(board.course for board in boards)

    plan = lifting(boards, ids(boards, "B8.1"), "tongued")

    assert len({mark.split(".")[0] for mark in marks(boards, plan.order)}) == last - 7


def test_boards_are_laid_course_by_course():
    boards, _ = boards_and_joists(rectangle(5000, 600))

    in_order = marks(boards, laying_order(reversed(boards)))

    assert in_order == ["B1.1", "B1.2", "B2.1", "B2.2", "B3.1", "B3.2", "B4.1", "B4.2"]


def test_a_board_waits_for_the_held_one_it_is_pushed_over():
    boards = put(strips(5), "up", "B2.1", "B3.1", "B4.1", "B5.1")

    plan = laying(boards, [2, 3, 4, 5], "tongued", held=[3])

    assert plan.order == (2,)
    assert plan.waiting == {4: (3,), 5: (4,)}


def test_a_board_waits_for_one_that_nobody_lays_yet():
    boards = put(strips(3), "up", "B1.1", "B2.1")

    plan = laying(boards, [2], "tongued")

    assert (plan.order, plan.waiting) == ((), {2: (1,)})


def test_square_edged_boards_wait_for_nothing():
    boards = put(strips(3), "up", "B1.1", "B2.1", "B3.1")

    plan = laying(boards, [1, 2, 3], "square", held=[2])

    assert (plan.order, plan.waiting) == ((1, 3), {})


def test_boards_down_already_are_not_laid_again():
    assert laying(strips(3), [1, 2], "tongued").order == ()


@pytest.mark.parametrize("edge", ["square", "tongued"])
def test_a_floor_without_boards_needs_no_order(edge):
    assert lifting([], [], edge).order == ()
    assert laying([], [], edge).order == ()


@settings(max_examples=40, deadline=None)
@given(st.sets(st.integers(1, 16)), st.sets(st.integers(1, 16)))
def test_what_comes_up_in_order_can_be_laid_in_the_opposite_order(wanted, already_up):
    boards, _ = boards_and_joists(rectangle(5000, 1200))
    marked = [board.mark for board in boards if board.id in already_up]
    boards = put(boards, "up", *marked)

    plan = lifting(boards, wanted, "tongued")

    up = set(already_up)
    by_id = {board.id: board for board in boards}
    for key in plan.order:
        beyond = [b for b in boards if b.course == by_id[key].course + 1 and b.id not in up]
        assert not any(meet(by_id[key], other) for other in beyond)
        up.add(key)
    lifted = put(boards, "up", *(by_id[key].mark for key in plan.order))
    assert set(laying(lifted, up, "tongued").order) == up


def meet(one, two):
    """Whether two boards along x lie beside each other for more than a corner."""
    ends = [[x for x, _ in board.outline] for board in (one, two)]
    return min(map(max, ends)) - max(map(min, ends)) > 10
