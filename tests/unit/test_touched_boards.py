"""Which boards an area or route touches, and which a partition traps."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.geometry import touched, trapped
from apps.floors.shapes import Board, Partition
from tests.floors import boards_and_joists, marks, rectangle, strips

FLOOR, _ = boards_and_joists(rectangle(4000, 3000))


def test_an_area_touches_the_boards_it_lies_on():
    assert touched(strips(5), area=rectangle(300, 300, 500, 150)) == (2, 3)


def test_a_board_entered_by_less_than_the_graze_stays_down():
    boards = strips(3)

    assert touched(boards, area=rectangle(300, 159, 500, 0)) == (1,)
    assert touched(boards, area=rectangle(300, 160, 500, 0)) == (1, 2)
    assert touched(boards, area=rectangle(300, 159, 500, 0), graze_mm=5) == (1, 2)


def test_an_area_that_ends_at_a_board_does_not_touch_it_even_without_graze():
    assert touched(strips(3), area=rectangle(300, 150, 500, 0), graze_mm=0) == (1,)


def test_a_corner_that_reaches_far_but_nowhere_wide_is_a_graze():
    spike = ((500, 0), (509, 0), (509, 400), (500, 400), (500, 0))

    assert touched(strips(3), area=spike) == ()


def test_a_route_across_the_boards_touches_each_of_them():
    assert touched(strips(5), route=((1000, 0), (1000, 700))) == (1, 2, 3, 4, 5)


def test_a_route_in_a_joist_bay_touches_every_board_it_crosses():
    # A bay between joists at 450 and 850, boards at right angles to it.
    crossed = touched(FLOOR, route=((650, 100), (650, 2900)), clearance_mm=100)

    assert len(crossed) == 20
    assert {board.course for board in FLOOR if board.id in crossed} == set(range(1, 21))


def test_clearance_counts_on_both_sides_and_beyond_the_ends():
    boards = strips(7)

    assert touched(boards, route=((500, 525), (900, 525)), clearance_mm=75) == (4,)
    assert touched(boards, route=((500, 525), (900, 525)), clearance_mm=150) == (3, 4, 5)
    assert touched(boards, route=((500, 525), (500, 540)), clearance_mm=200) == (3, 4, 5)


def test_a_route_without_clearance_still_touches_what_it_crosses():
    assert touched(strips(3), route=((500, 10), (500, 290)), clearance_mm=0) == (1, 2)


def test_a_single_point_is_a_round_hole():
    assert touched(strips(5), route=((500, 375),), clearance_mm=80) == (3,)
    assert touched(strips(5), route=((500, 375), (500, 375)), clearance_mm=90) == (2, 3, 4)


def test_a_board_narrower_than_the_graze_counts_when_half_of_it_is_needed():
    ripped = [*strips(2), Board(9, "B3.1", 3, 1, rectangle(2000, 8, 0, 300))]

    assert touched(ripped, area=rectangle(1500, 400, 0, 200)) == (2, 9)
    assert touched(ripped, area=rectangle(500, 400, 0, 200)) == (2,)


def test_ids_come_in_the_order_of_the_marks():
    boards = [
        Board(7, "B10.1", 10, 1, rectangle(1000, 100, 0, 0)),
        Board(8, "B2.1", 2, 1, rectangle(1000, 100, 0, 100)),
    ]

    assert touched(boards, area=rectangle(500, 200)) == (8, 7)


def test_a_floor_without_boards_has_nothing_to_touch():
    assert touched([], area=rectangle(500, 200)) == ()


def test_either_an_area_or_a_route_is_asked_for():
    with pytest.raises(ValueError, match="either an area or a route"):
        touched(FLOOR)
    with pytest.raises(ValueError, match="either an area or a route"):
        touched(FLOOR, area=rectangle(9, 9), route=((0, 0), (5, 5)))


def test_negative_clearance_or_graze_is_refused():
    with pytest.raises(ValueError, match="0 mm or more"):
        touched(FLOOR, route=((0, 0), (5, 5)), clearance_mm=-1)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 3000)), min_size=1, max_size=4),
    st.integers(0, 300),
    st.integers(0, 200),
)
def test_more_working_room_never_touches_fewer_boards(route, clearance_mm, more_mm):
    near = touched(FLOOR, route=tuple(route), clearance_mm=clearance_mm)
    wide = touched(FLOOR, route=tuple(route), clearance_mm=clearance_mm + more_mm)

    assert set(near) <= set(wide)


def test_a_partition_traps_the_boards_it_stands_on():
    boards = strips(6)

    across = Partition(((1000, 0), (1000, 450)), 100, (1, 2))
    along = Partition(((0, 750), (2000, 750)), 100, (1, 2))

    assert marks(boards, trapped(boards, [across])) == ["B1.1", "B2.1", "B3.1"]
    assert marks(boards, trapped(boards, [along])) == ["B5.1", "B6.1"]


def test_a_partition_that_only_grazes_a_board_does_not_trap_it():
    beside = Partition(((0, 241), (2000, 241)), 100, (1, 2))

    assert trapped(strips(4), [beside]) == (2,)


def test_a_partition_of_no_thickness_still_traps_what_it_crosses():
    assert trapped(strips(2), [Partition(((500, 0), (500, 300)), 0, (1, None))]) == (1, 2)


def test_without_partitions_nothing_is_trapped():
    assert trapped(FLOOR, []) == ()
