"""Ordinary floors and rooms as plain shapes, for tests of the pure geometry."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from apps.floors.set_out import set_out
from apps.floors.shapes import Board, Joist, Outline, SetOut

SIZES = {
    "boards_run_deg": 0,
    "board_cover_width_mm": 150,
    "joist_centres_mm": 400,
    "joist_breadth_mm": 50,
    "max_board_length_mm": 3000,
}


def rectangle(width_mm: int, length_mm: int, x: int = 0, y: int = 0) -> Outline:
    return (
        (x, y),
        (x + width_mm, y),
        (x + width_mm, y + length_mm),
        (x, y + length_mm),
        (x, y),
    )


def l_shape(width: int, length: int, cut_width: int, cut_length: int) -> Outline:
    """A rectangle without its far corner."""
    return (
        (0, 0),
        (width, 0),
        (width, length - cut_length),
        (width - cut_width, length - cut_length),
        (width - cut_width, length),
        (0, length),
        (0, 0),
    )


def laid(outline: Outline, **sizes: int) -> SetOut:
    """Boards 150 wide and up to 3 m long along x, joists 50 wide at 400 centres."""
    return set_out(outline, **{**SIZES, **sizes})


def boards_and_joists(outline: Outline, **sizes: int) -> tuple[list[Board], list[Joist]]:
    """The same as boards and joists, with ids from 1 in the order of the marks."""
    made = laid(outline, **sizes)
    breadth = {**SIZES, **sizes}["joist_breadth_mm"]
    return (
        [
            Board(count, board.mark, board.course, board.piece, board.outline)
            for count, board in enumerate(made.boards, start=1)
        ],
        [
            Joist(count, joist.mark, joist.line, breadth)
            for count, joist in enumerate(made.joists, start=1)
        ],
    )


def strips(count: int, length_mm: int = 2000, width_mm: int = 150) -> list[Board]:
    """Boards along x, one per course, ids and courses from 1."""
    return [
        Board(n, f"B{n}.1", n, 1, rectangle(length_mm, width_mm, 0, (n - 1) * width_mm))
        for n in range(1, count + 1)
    ]


def put(boards: list[Board], state: str, *marks: str) -> list[Board]:
    """The same boards, those of some marks in another state."""
    return [replace(b, state=state) if b.mark in marks else b for b in boards]


def marks(boards: list[Board], ids: tuple[int, ...]) -> list[str]:
    by_id = {board.id: board.mark for board in boards}
    return [by_id[key] for key in ids]


@st.composite
def l_floors(draw) -> Outline:
    """L-shaped floors of 2 to 7 m, no arm narrower than 1 m, on a 1 mm grid."""
    width, length = draw(st.integers(2000, 7000)), draw(st.integers(2000, 5000))
    return l_shape(
        width, length, draw(st.integers(500, width - 1000)), draw(st.integers(500, length - 1000))
    )
