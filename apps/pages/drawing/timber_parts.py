"""Marks on drawn timber: what is wrong with it by pattern and letter, and words beside a line.

A drawing is `WIDE` units across on any screen; everything is black on white by attributes, which
the style sheet turns into the page's own ink.
"""

from __future__ import annotations

from collections.abc import Callable
from xml.sax.saxutils import escape  # nosec B406 # it writes XML and reads none

from apps.pages.drawing.svg import MONO, SERIF, element, visible

WIDE = 340
LETTERS = {
    "decay": "D", "split": "S", "knot": "K", "notch": "C", "hole": "H", "insect": "I",
    "nails": "N", "bow": "B",
}  # fmt: skip
WORDS = {
    "decay": "decay", "split": "split", "knot": "knot", "notch": "notch (cut out)",
    "hole": "hole", "insect": "insect holes", "nails": "nails", "bow": "bow",
}  # fmt: skip


def words(
    x: float, y: float, said: str, *, size: float = 12, anchor: str = "middle", mono: bool = False
) -> str:
    """Words whose middle is at height `y`, with an edge of paper so that they read over lines."""
    return element(
        "text", escape(visible(said)), x=float(x), y=float(y + 0.35 * size),
        font_family=None if mono else SERIF, font_size=float(size),
        text_anchor=None if anchor == "middle" else anchor,
        fill="#000", stroke="#fff", stroke_width=3.0, paint_order="stroke",
    )  # fmt: skip


def line(x1: float, y1: float, x2: float, y2: float, *, width: float = 1, dash: str = "") -> str:
    return element(
        "line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2),
        stroke_width=float(width), stroke_dasharray=dash or None,
    )  # fmt: skip


def box(
    x: float, y: float, wide: float, high: float, *, fill: str = "#fff", width: float = 1.5,
    dash: str = "", class_: str = "",
) -> str:  # fmt: skip
    return element(
        "rect", class_=class_ or None, x=float(x), y=float(y), width=float(wide),
        height=float(high), fill=fill, stroke_width=float(width),
        stroke_dasharray=dash or None,
    )  # fmt: skip


def slanted(x: float, y: float, wide: float, high: float, *, gap: float, up: bool = False) -> str:
    """Close strokes at 45° within a box, clipped by arithmetic: many drawings share a page."""
    found = []
    offset = -high + gap / 2
    while offset < wide:
        left, right = max(offset, 0.0), min(offset + high, wide)
        if right > left:
            low, top = left - offset, right - offset
            y1, y2 = (high - low, high - top) if up else (low, top)
            found.append(f"M{x + left:.1f} {y + y1:.1f}L{x + right:.1f} {y + y2:.1f}")
        offset += gap
    return element("path", d="".join(found), stroke_width=0.8)


def dotted(x: float, y: float, wide: float, high: float, *, radius: float, solid: bool) -> str:
    step = radius * 4
    count, rows = max(int(wide / step), 1), max(int(high / step), 1)
    fill = "#000" if solid else "#fff"
    return "".join(
        element(
            "circle", cx=float(x + wide * (n + 0.5) / count),
            cy=float(y + high * (row + 0.5) / rows), r=float(radius), fill=fill, stroke="#000",
            stroke_width=0.8,
        )
        for n in range(count)
        for row in range(rows)
    )  # fmt: skip


def crossed(x: float, y: float, wide: float, high: float) -> str:
    return slanted(x, y, wide, high, gap=5) + slanted(x, y, wide, high, gap=5, up=True)


def split_along(x: float, y: float, wide: float, high: float) -> str:
    return line(x, y + high / 2 - 2, x + wide, y + high / 2 + 2, width=2)


def knots(x: float, y: float, wide: float, high: float) -> str:
    return dotted(x, y, wide, high, radius=min(high / 5, max(wide / 3, 2)), solid=False)


def cut_out(x: float, y: float, wide: float, high: float) -> str:
    return box(x, y + high * 0.6, wide, high * 0.4, fill="#000", width=0.5)


def holes(x: float, y: float, wide: float, high: float) -> str:
    return dotted(x, y, wide, high, radius=3, solid=False)


def specks(x: float, y: float, wide: float, high: float) -> str:
    return dotted(x, y, wide, high, radius=1.1, solid=True)


def pins(x: float, y: float, wide: float, high: float) -> str:
    places = (x + wide * n / 4 for n in (1, 2, 3))
    return "".join(line(at, y + 2, at, y + high - 2, width=1.4) for at in places)


def bowed(x: float, y: float, wide: float, high: float) -> str:
    low = y + high - 3
    path = f"M{x:.1f} {low:.1f}Q{x + wide / 2:.1f} {y:.1f} {x + wide:.1f} {low:.1f}"
    return element("path", d=path, fill="none", stroke="#000", stroke_width=1.5)


PATTERNS: dict[str, Callable[[float, float, float, float], str]] = {
    "decay": crossed, "split": split_along, "knot": knots, "notch": cut_out, "hole": holes,
    "insect": specks, "nails": pins, "bow": bowed,
}  # fmt: skip


def defect_pattern(kind: str, x: float, y: float, wide: float, high: float) -> str:
    """The stretch of a defect: each kind its own pattern within an outline."""
    return box(x, y, wide, high, width=0.8) + PATTERNS[kind](x, y, wide, high)


def drawing(name: str, high: float, inside: str, *, wide: float = WIDE) -> str:
    """A whole drawing with its name for whoever cannot see it.

    What most of its lines and words have in common stands here once.
    """
    return element(
        "svg", inside, xmlns="http://www.w3.org/2000/svg", class_="timber-drawing",
        viewBox=f"0 0 {wide:g} {high:g}", role="img", aria_label=name, stroke="#000",
        font_family=MONO, text_anchor="middle", stroke_linejoin="round",
    )  # fmt: skip
