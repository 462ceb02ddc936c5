"""Boards as areas: what is named is touched, and nothing else."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from apps.floors.geometry import touched
from apps.floors.patches import patches
from apps.floors.shapes import Board


def board(course, piece=1, *, wide=150, gap=0, turned=False):
    """1200 mm long; pieces lie end to end, courses side by side."""
    x, y = 1200 * (piece - 1), (wide + gap) * (course - 1)
    ring = [(x, y), (x + 1200, y), (x + 1200, y + wide), (x, y + wide), (x, y)]
    outline = tuple((b, a) if turned else (a, b) for a, b in ring)
    return Board(course * 100 + piece, f"B{course}.{piece}", course, piece, outline)


def corners(ring):
    return set(ring)


def test_boards_beside_each_other_are_one_area():
    found = patches([board(1).outline, board(2).outline])

    assert [corners(ring) for ring in found] == [{(0, 0), (1200, 0), (1200, 300), (0, 300)}]


def test_boards_with_a_sliver_between_them_are_one_area_too():
    found = patches([board(1, gap=4).outline, board(2, gap=4).outline])

    assert [corners(ring) for ring in found] == [{(0, 0), (1200, 0), (1200, 304), (0, 304)}]


def test_boards_apart_are_an_area_each():
    found = patches([board(5).outline, board(1).outline])

    assert [min(ring) for ring in found] == [(0, 0), (0, 600)]


def test_boards_around_a_hole_do_not_take_in_what_lies_in_it():
    around = [board(c, p) for c in (1, 2, 3) for p in (1, 2, 3) if (c, p) != (2, 2)]

    found = patches([one.outline for one in around])

    assert len(found) == 8
    assert all(touched([board(2, 2)], area=ring) == () for ring in found)


@given(
    named=st.sets(st.tuples(st.integers(1, 6), st.integers(1, 4)), min_size=1),
    gap=st.integers(0, 12),
    turned=st.booleans(),
)
def test_the_areas_touch_the_boards_they_were_made_of_and_no_others(named, gap, turned):
    floor = [board(c, p, gap=gap, turned=turned) for c in range(1, 7) for p in range(1, 5)]
    mine = [one for one in floor if (one.course, one.piece) in named]

    areas = patches([one.outline for one in mine])

    reached = {found for area in areas for found in touched(floor, area=area)}
    assert reached == {one.id for one in mine}
