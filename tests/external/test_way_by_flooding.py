"""Whether a way holds, against brute force: a flood over a fine grid, no geometry library.

Reference: breadth-first flood over grid points whose distance to walls and open boards leaves
room (distances from `tests.sampling`: textbook methods, from memory). A grid way with a cell's
diagonal of room to spare is a real way; a real way passes within half a diagonal of grid
points, so where even a grid way with that much less room is cut, the real one is. The sampled
answers enclose the computed one from both sides.
"""

from collections import deque
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.shapes import Ground, Room, Way
from apps.floors.walkable import route_state
from tests.floors import boards_and_joists, l_shape
from tests.sampling import from_edge, inside

STEP_MM = 20
SPARE_MM = 30
"""More than the diagonal of a cell (28.3 mm) with the tolerance of 1 mm."""

WIDTH_MM = 500
OUTLINE = l_shape(2800, 2400, 900, 800)
ROOM = Room(1, "the landing", OUTLINE)
WAY = Way(1, 1, WIDTH_MM, from_point=(2400, 400), to_point=(400, 2000))
FLOORS = {
    run_deg: boards_and_joists(
        OUTLINE, boards_run_deg=run_deg, board_cover_width_mm=300, max_board_length_mm=1300
    )[0]
    for run_deg in (0, 90, 20)
}
XS, YS = np.arange(0, 2801, STEP_MM), np.arange(0, 2401, STEP_MM)
POINTS = np.stack(np.meshgrid(XS, YS, indexing="ij"), axis=-1).reshape(-1, 2).astype(float)
TO_WALL = np.where(inside(POINTS, OUTLINE), from_edge(POINTS, OUTLINE), -1)
TO_BOARD = {
    (run_deg, board.id): np.where(
        inside(POINTS, board.outline), -1, from_edge(POINTS, board.outline)
    )
    for run_deg, boards in FLOORS.items()
    for board in boards
}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([0, 90, 20]), st.data())
def test_a_way_holds_where_the_flood_gets_through(run_deg, data):
    boards = FLOORS[run_deg]
    up = data.draw(st.sets(st.sampled_from([board.id for board in boards]), max_size=6))
    here = Ground(
        (ROOM,), (), tuple(replace(b, state="up" if b.id in up else "fixed") for b in boards)
    )

    holds = route_state(here, WAY).holds

    room = np.min([TO_WALL, *(TO_BOARD[run_deg, key] for key in up)], axis=0)
    surely = flooded(room >= WIDTH_MM / 2 + SPARE_MM)
    perhaps = flooded(room >= WIDTH_MM / 2 - SPARE_MM)
    assert surely <= holds <= perhaps


def flooded(is_open):
    """Whether the end is reached from the start by steps to open neighbours, of eight."""
    is_open = is_open.reshape(len(XS), len(YS))
    start, end = (tuple(part // STEP_MM for part in p) for p in (WAY.from_point, WAY.to_point))
    seen, to_do = {start}, deque([start])
    while to_do and end not in seen:
        x, y = to_do.popleft()
        for place in ((x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            if place not in seen and is_open[place]:
                seen.add(place)
                to_do.append(place)
    return bool(is_open[start] and end in seen)
