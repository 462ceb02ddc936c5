"""The heights of a floor from above: drawn where they are, by straight lines between the places."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.pages.drawing.levels_map import (
    CELLS,
    Spot,
    band,
    contours,
    levels_map,
    step_of,
    straight,
    surface_of,
)

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "<script>&\"'"
SMALL = st.integers(-20, 20)


def floor(*heights, apart_mm=400, long_mm=3000):
    """A joist for each pair of heights: at its lower and at its upper bearing."""
    return [
        Spot(f"J{number}", along, number * apart_mm, height)
        for number, pair in enumerate(heights, start=1)
        for along, height in zip((0, long_mm), pair, strict=True)
    ]


def root_of(spots):
    return ElementTree.fromstring(levels_map(spots, name="The floor"))


def words(spots):
    return [one.text for one in root_of(spots).iter(f"{SVG}text")]


def test_between_two_places_the_height_is_straight_and_beyond_them_level():
    line = [(0, 0.0), (1000, -10.0), (3000, 0.0)]

    assert [straight(line, at) for at in (-5, 0, 500, 1000, 2000, 9000)] == [
        0, 0, -5, -10, -5, 0,
    ]  # fmt: skip


@given(a=SMALL, b=SMALL, c=SMALL, x=st.floats(0, 1), y=st.floats(0, 1))
def test_a_plane_through_the_places_is_met_everywhere(a, b, c, x, y):
    """Heights a + b·across + c·along: whatever is straight between joists is exact on a plane."""
    spots = floor((a, a + c), (a + b, a + b + c))

    surface = surface_of(spots)

    across, along = 400 + 400 * x, 3000 * y
    assert surface.height(across, along) == pytest.approx(a + b * x + c * y, abs=1e-9)


@given(a=SMALL, b=SMALL, c=SMALL, level=st.floats(-40, 40))
def test_a_line_of_equal_height_lies_at_that_height(a, b, c, level):
    grid = [[a + b * x + c * y for x in range(5)] for y in range(4)]

    for x0, y0, x1, y1 in contours(grid, level):
        for x, y in ((x0, y0), (x1, y1)):
            assert a + b * x + c * y == pytest.approx(level, abs=1e-6)


def test_a_line_runs_from_edge_to_edge_without_a_gap():
    grid = [[float(x) for x in range(5)] for _ in range(4)]

    pieces = list(contours(grid, 1.5))

    ends = [one for x0, y0, x1, y1 in pieces for one in ((x0, y0), (x1, y1))]
    alone = [one for one in ends if ends.count(one) == 1]
    assert sorted(alone) == [(1.5, 0.0), (1.5, 3.0)]


@pytest.mark.parametrize(
    ("low", "high", "step"), [(0, 3, 0.5), (-4, 6, 2.0), (0, 12, 2.0), (-300, 300, 50.0)]
)
def test_a_few_lines_at_round_heights(low, high, step):
    assert step_of(low, high) == step


def test_the_lowest_third_is_hatched_the_middle_dotted_and_the_highest_plain():
    assert [band(height, 0, 9) for height in (0, 2.9, 3.1, 5.9, 6.1, 9)] == [
        "low", "low", "middle", "middle", "", "",
    ]  # fmt: skip
    assert band(4, 4, 4) == ""


def test_each_place_says_what_is_put_under_it_and_the_others_are_rings():
    spots = floor((0, -3), (0, 0))
    spots[1] = Spot("J1", 3000, 400, -3, "+3")

    root = root_of(spots)

    assert "+3" in words(spots)
    assert len([one for one in root.iter() if one.get("class") == "packer"]) == 1
    assert len(list(root.iter(f"{SVG}circle"))) == 3 + 1  # and the dot of a pattern
    assert {"J1", "J2"} <= set(words(spots))


def test_hatching_lies_under_the_low_end():
    root = root_of(floor((-9, -9), (0, 0)))

    low = [one for one in root.iter(f"{SVG}rect") if one.get("fill") == "url(#levels-low)"]

    assert len(low) == CELLS
    assert {one.get("x") for one in low} == {"0"}


@pytest.mark.parametrize("spots", [[], floor((0, 1)), floor((0, 1), (0, 1), apart_mm=0)])
def test_what_has_no_breadth_is_not_drawn(spots):
    assert surface_of(spots) is None


def test_a_level_floor_has_no_lines_and_one_place_along_each_joist_no_drawing():
    assert not [one for one in root_of(floor((2, 2), (2, 2))).iter() if one.get("class") == "level"]
    assert levels_map([Spot("J1", 0, 0, 1), Spot("J2", 0, 400, 2)], name="x") == ""


def test_joists_close_together_are_named_one_above_the_other():
    spots = floor((0, 1), (0, 2), (0, 3), apart_mm=400)
    close = [Spot("J1a", along, 430, 1) for along in (0, 3000)]

    root = root_of([*spots, *close])

    heights = {one.text: one.get("y") for one in root.iter(f"{SVG}text")}
    assert heights["J1"] == heights["J2"] == heights["J3"] != heights["J1a"]


def test_words_stay_words():
    spots = [
        Spot(NASTY if one.joist == "J1" else one.joist, one.along_mm, one.across_mm, one.height_mm)
        for one in floor((0, 1), (0, 2))
    ]

    assert NASTY in words(spots)
