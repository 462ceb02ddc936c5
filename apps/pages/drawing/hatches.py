"""Patterns that tell states apart without colour, in mm of the house.

Boards: fixed is plain, loose has broken strokes, up has close strokes the other way, missing
has dots. Joists: sound is plain, suspect has a broken edge, decayed is crossed, new is solid,
missing has a dotted edge. Each has its letter as well.
"""

from __future__ import annotations

from apps.floors.shapes import BoardState, JoistCondition
from apps.pages.drawing.svg import element

BOARD_FILLS: dict[BoardState, str] = {
    "fixed": "#fff",
    "loose": "url(#floor-loose)",
    "up": "url(#floor-up)",
    "missing": "url(#floor-missing)",
}
JOIST_STYLES: dict[JoistCondition, dict[str, object]] = {
    "sound": {"fill": "#fff", "stroke_width": 9},
    "suspect": {"fill": "#fff", "stroke_width": 14, "stroke_dasharray": "70 40"},
    "decayed": {"fill": "url(#floor-decayed)", "stroke_width": 9},
    "new": {"fill": "#000", "stroke_width": 9},
    "missing": {"fill": "none", "stroke_width": 12, "stroke_dasharray": "12 45"},
}


def pattern(name: str, side_mm: int, inside: str) -> str:
    paper = element("rect", width=side_mm, height=side_mm, fill="#fff")
    return element(
        "pattern", paper + inside, id=f"floor-{name}", width=side_mm, height=side_mm,
        patternUnits="userSpaceOnUse",
    )  # fmt: skip


def stroke(path: str, width_mm: int) -> str:
    return element("path", d=path, fill="none", stroke="#000", stroke_width=width_mm)


def patterns() -> str:
    return element(
        "defs",
        pattern("loose", 160, stroke("M20 140L70 90M110 50L150 10", 9))
        + pattern("up", 64, stroke("M-8 -8L72 72M-8 56L8 72M56 -8L72 8", 10))
        + pattern("missing", 70, element("circle", cx=35, cy=35, r=11, fill="#000"))
        + pattern("decayed", 36, stroke("M0 0L36 36M0 36L36 0", 7)),
    )
