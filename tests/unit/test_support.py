"""What boards rest on once joists are decayed or gone."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.resting import support
from apps.floors.shapes import Board, Joist
from tests.floors import boards_and_joists, l_floors, rectangle


def joist(number, x, **more):
    """A 50 mm joist along y, 0 to 3000, marked by its number."""
    return Joist(number, f"J{number}", ((x, 0), (x, 3000)), 50, **more)


def board(start=0, end=1300, width=150):
    return Board(1, "B1.1", 1, 1, rectangle(end - start, width, start, 0))


FOUR = [joist(1, 50), joist(2, 450), joist(3, 850), joist(4, 1250)]


def only(boards, joists, **limits):
    return support(boards, joists, **limits)[1]


def test_a_board_rests_on_every_joist_it_crosses():
    rest = only([board()], FOUR)

    assert (rest.joist_ids, rest.lost_ids, rest.sound_count) == ((1, 2, 3, 4), (), 4)
    assert (rest.supported, rest.overhang_mm, rest.span_mm) == (True, 25, 400)
    assert rest.sentence == "B1.1 rests on J1, J2, J3 and J4."


def test_a_missing_joist_leaves_a_wider_span():
    joists = [FOUR[0], replace(FOUR[1], condition="missing"), *FOUR[2:]]

    rest = only([board()], joists)

    assert (rest.supported, rest.span_mm, rest.lost_ids) == (True, 800, (2,))
    assert rest.sentence == "B1.1 rests on J1, J3 and J4. J2 does not carry it there."


def test_a_board_on_one_remaining_joist_is_not_supported():
    joists = [FOUR[0], *(replace(j, condition="decayed") for j in FOUR[1:])]

    rest = only([board()], joists)

    assert not rest.supported
    assert rest.sentence == (
        "B1.1 rests on one sound joist only, J1. J2, J3 and J4 do not carry it there."
    )


@pytest.mark.parametrize("joists", [[], [replace(j, condition="missing") for j in FOUR]])
def test_a_board_on_no_joist_is_not_supported(joists):
    rest = only([board()], joists)

    assert (rest.supported, rest.overhang_mm, rest.span_mm) == (False, 0, 0)
    assert rest.sentence.startswith("B1.1 rests on no sound joist.")


@pytest.mark.parametrize(
    ("decayed", "carries"),
    [((0, 75), True), ((0, 76), False), ((40, 110), True), ((150, 3000), True), ((0, 3000), False)],
)
def test_decay_counts_where_it_lies_under_half_of_the_board_or_more(decayed, carries):
    joists = [replace(FOUR[0], decayed=(decayed,)), *FOUR[1:]]

    assert (1 in only([board()], joists).joist_ids) is carries


def test_decay_is_measured_from_the_first_point_of_the_line():
    turned = replace(FOUR[0], line=((50, 3000), (50, 0)), decayed=((0, 500),))

    assert 1 in only([board()], [turned, *FOUR[1:]]).joist_ids
    assert 1 not in only([board()], [replace(turned, decayed=((2500, 3000),))]).joist_ids


@pytest.mark.parametrize("condition", ["suspect", "new", "sound"])
def test_a_suspect_or_new_joist_still_counts(condition):
    joists = [replace(j, condition=condition) for j in FOUR[:2]]

    assert only([board(end=500)], joists).supported


def test_a_decayed_joist_with_a_known_stretch_carries_elsewhere():
    joists = [replace(FOUR[0], condition="decayed", decayed=((1000, 1200),)), FOUR[1]]

    assert only([board(end=500)], joists).supported


@pytest.mark.parametrize(("end", "carries"), [(1244, False), (1245, True)])
def test_a_board_needs_twenty_millimetres_of_bearing(end, carries):
    assert (4 in only([board(end=end)], FOUR).joist_ids) is carries


def test_half_a_narrow_joist_is_bearing_enough():
    narrow = replace(FOUR[3], breadth_mm=38)

    assert 4 in only([board(end=1250)], [*FOUR[:3], narrow]).joist_ids


def test_a_joist_that_stops_under_the_board_carries_it_from_half_its_width():
    short = replace(FOUR[3], line=((1250, 80), (1250, 3000)))

    assert 4 not in only([board()], [*FOUR[:3], short]).joist_ids
    assert 4 in only([board()], [*FOUR[:3], replace(short, line=((1250, 70), (1250, 99)))]).lost_ids
    assert (
        4 in only([board()], [*FOUR[:3], replace(short, line=((1250, 75), (1250, 999)))]).joist_ids
    )


def test_a_joist_that_only_meets_the_board_edge_is_no_crossing():
    beside = replace(FOUR[3], line=((1250, 150), (1250, 3000)))

    assert only([board()], [*FOUR[:3], beside]).lost_ids == ()


def test_a_long_free_end_would_tip_and_is_called_out():
    joists = [*FOUR[:3], replace(FOUR[3], condition="missing")]

    rest = only([board()], joists)

    assert (rest.supported, rest.sound_count, rest.overhang_mm) == (False, 3, 425)
    assert rest.sentence == (
        "B1.1 hangs free by 425 mm beyond its last sound joist (150 mm at most). "
        "J4 does not carry it there."
    )
    assert only([board()], joists, overhang_mm=425).supported


def test_a_free_end_before_the_first_joist_counts_too():
    assert only([board(start=-200)], FOUR).overhang_mm == 225


def test_a_board_up_or_missing_is_judged_as_it_would_lie():
    lifted = replace(board(), state="up")

    assert only([lifted], FOUR).supported


def test_no_boards_no_answers():
    assert support([], FOUR) == {}


@settings(max_examples=25, deadline=None)
@given(l_floors(), st.sampled_from([0, 90]), st.data())
def test_losing_a_joist_never_supports_a_board_more(floor, run_deg, data):
    boards, joists = boards_and_joists(floor, boards_run_deg=run_deg)
    lost = data.draw(st.sampled_from(joists)).id

    before = support(boards, joists)
    after = support(
        boards, [replace(j, condition="missing") if j.id == lost else j for j in joists]
    )

    for key, rest in after.items():
        assert set(rest.joist_ids) == set(before[key].joist_ids) - {lost}
        assert rest.supported <= before[key].supported
