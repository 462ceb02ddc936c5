"""Touched boards against brute force: a fine grid of points, no geometry library.

Reference: point-in-polygon by counting edge crossings and point-to-segment distance, both in
`tests.sampling` (textbook methods, from memory). By definition a board is touched if a disc of the
graze's diameter fits in both the board and the zone. A sample on the grid proves it; with a
grid of `STEP_MM`, a disc that has `STEP_MM` of slack (more than the half diagonal of a cell)
cannot slip between samples. So the sampled answers enclose the computed one from both sides.
"""

import itertools

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from apps.floors.geometry import touched
from tests.floors import boards_and_joists, l_shape
from tests.sampling import distance, from_edge, inside

STEP_MM = 4.0
CLEARANCE_MM = 120
GRAZE_MM = 20
ROUND_END_MM = 0.3
"""A round end is drawn as a polygon: 120 mm × (1 - cos(π/64)) = 0.15 mm short at most."""

PLACES = st.tuples(st.integers(-200, 2200), st.integers(-200, 1700))


def samples(ring):
    """Grid points in a board and how far each is from the board's edge."""
    corners = np.array(ring, dtype=float)
    xs, ys = (
        np.arange(corners[:, axis].min(), corners[:, axis].max() + STEP_MM, STEP_MM)
        for axis in (0, 1)
    )
    points = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    points = points[inside(points, ring)]
    return points, from_edge(points, ring)


def whole_boards(run_deg):
    """Boards of an L-shaped floor with their samples, less corner bits no graze disc fits in."""
    boards, _ = boards_and_joists(
        l_shape(2000, 1500, 700, 600), boards_run_deg=run_deg, max_board_length_mm=1200
    )
    sampled = {board.id: samples(board.outline) for board in boards}
    wide = [board for board in boards if sampled[board.id][1].max() >= GRAZE_MM / 2]
    return wide, sampled


FLOORS = {run_deg: whole_boards(run_deg) for run_deg in (0, 90, 30)}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([0, 90, 30]), st.lists(PLACES, min_size=1, max_size=3, unique=True))
def test_a_route_touches_the_boards_that_sampling_finds(run_deg, route):
    boards, sampled = FLOORS[run_deg]

    found = touched(boards, route=tuple(route), clearance_mm=CLEARANCE_MM, graze_mm=GRAZE_MM)

    segments = list(itertools.pairwise(route)) or [(route[0], route[0])]

    def depth(points):
        return CLEARANCE_MM - np.min([distance(points, a, b) for a, b in segments], axis=0)

    assert_between(boards, sampled, depth, set(found), GRAZE_MM / 2 + ROUND_END_MM)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([0, 90, 30]), st.lists(PLACES, min_size=3, max_size=3, unique=True))
def test_an_area_touches_the_boards_that_sampling_finds(run_deg, corners):
    boards, sampled = FLOORS[run_deg]
    area = (*corners, corners[0])
    assume(sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise(area)) != 0)

    found = touched(boards, area=area, graze_mm=GRAZE_MM)

    def depth(points):
        return np.where(inside(points, area), from_edge(points, area), -1)

    assert_between(boards, sampled, depth, set(found), GRAZE_MM / 2)


def assert_between(boards, sampled, depth, found, surely_mm):
    """What sampling is sure of was found, and nothing that sampling rules out."""
    surely, perhaps = set(), set()
    for board in boards:
        points, to_edge = sampled[board.id]
        fits = np.minimum(to_edge, depth(points)).max(initial=-1)
        if fits >= surely_mm:
            surely.add(board.id)
        if fits >= GRAZE_MM / 2 - STEP_MM:
            perhaps.add(board.id)
    assert surely <= found <= perhaps
