"""What the drawing's patterns, letters and lines mean: a swatch and words for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from apps.floors.shapes import BoardState, JoistCondition
from apps.pages.drawing import over
from apps.pages.drawing.boards import trap
from apps.pages.drawing.hatches import BOARD_FILLS, JOIST_STYLES, patterns
from apps.pages.drawing.parts import (
    JOIST_LETTERS,
    STATE_LETTERS,
    PlanBoard,
    PlanNeed,
    PlanWay,
)
from apps.pages.drawing.svg import Frame, element

WIDE_MM, TALL_MM = 700, 300

BOARD_WORDS: dict[BoardState, str] = {
    "fixed": "fixed",
    "loose": "loose: laid, to be walked on, not fastened",
    "up": "up: a hole",
    "missing": "missing: a hole, and no board for it",
}
JOIST_WORDS: dict[JoistCondition, str] = {
    "sound": "sound",
    "suspect": "suspect: look into it",
    "decayed": "decayed",
    "new": "new",
    "missing": "missing",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the legend. `letter` is empty where the drawing has none."""

    kind: str
    swatch: str
    letter: str
    words: str


def legend(*, standing_alone: bool = False) -> list[Entry]:
    """Boards, joists, then lines. `standing_alone`: each swatch brings the patterns it needs."""
    frame = Frame(0, TALL_MM)
    whole = ((0, 0), (WIDE_MM, 0), (WIDE_MM, TALL_MM), (0, TALL_MM), (0, 0))
    level = ((40, TALL_MM // 2), (WIDE_MM - 40, TALL_MM // 2))
    held = PlanBoard(0, "", 0, whole)
    found = [
        *(
            Entry("Boards", rect(fill=BOARD_FILLS[one], stroke_width=9), STATE_LETTERS[one],
                  BOARD_WORDS[one])
            for one in get_args(BoardState)
        ),
        Entry("Boards", rect(fill="#fff", stroke_width=9) + trap(held, frame), "T",
              "trapped under a partition"),
        Entry("Boards", rect(fill="#fff", stroke_width=9), "!",
              "not safe to step on: its joists do not carry it"),
        Entry("Boards", rect(fill="#fff", stroke_width=30), "→L", "lay it loose tonight"),
        Entry("Boards", rect(fill="#fff", stroke_width=30, stroke_dasharray="90 60"), "→D",
              "deck it over tonight"),
        *(
            Entry("Joists", rect(inset=90, **JOIST_STYLES[one]), JOIST_LETTERS[one],
                  JOIST_WORDS[one])
            for one in get_args(JoistCondition)
        ),
        Entry("Lines", over.need(PlanNeed("", route=level, clearance_mm=120), frame), "ring",
              "needed open, by whoever has the letter in the ring"),
        Entry("Lines", over.way(PlanWay(1, level), frame), "1",
              "a way of the household; ✕ where it is cut tonight"),
    ]  # fmt: skip
    return [
        Entry(one.kind, swatch(one.swatch, standing_alone=standing_alone), one.letter, one.words)
        for one in found
    ]


def rect(*, inset: int = 15, **style: object) -> str:
    return element(
        "rect",
        x=15,
        y=inset,
        width=WIDE_MM - 30,
        height=TALL_MM - 2 * inset,
        stroke="#000",
        **style,
    )


def swatch(inside: str, *, standing_alone: bool) -> str:
    """A swatch on a page takes its patterns from the drawing beside it."""
    return element(
        "svg", (patterns() if standing_alone else "") + inside, class_="swatch", width="14mm",
        height="6mm", viewBox=f"0 0 {WIDE_MM} {TALL_MM}", aria_hidden="true",
        xmlns="http://www.w3.org/2000/svg",
    )  # fmt: skip
