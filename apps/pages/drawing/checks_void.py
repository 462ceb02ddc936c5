"""A void from above, to scale: its walls by what lies beyond, its air bricks, dead corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from apps.pages.drawing.svg import Frame, bounds, element, polygon, text

Point = tuple[float, float]
DASHES = {"outside": None, "solid_floor": "120 60", "void": "30 60", "inside": "30 60"}


@dataclass(frozen=True, slots=True)
class Brick:
    """An air brick by what it gives; shut or not counted: crossed out."""

    at: Point
    words: str
    open: bool = True


def void_drawn(
    outline: Sequence[Point],
    *,
    name: str,
    beyond: Sequence[str] = (),
    bricks: Sequence[Brick] = (),
    dead: Sequence[Point] = (),
) -> str:
    """One unit of the drawing is one mm of the house."""
    left, low, right, high = bounds(outline)
    wide, tall = right - left, high - low
    size = max(wide, tall, 1.0) / 19
    edge = size * 2.4
    frame = Frame(left - edge, high + edge)
    parts = [polygon(outline, frame, fill="#fff", stroke="none")]
    for number, (start, end) in enumerate(pairwise(outline)):
        kind = beyond[number] if number < len(beyond) else "outside"
        (ax, ay), (bx, by) = frame.at(start), frame.at(end)
        parts.append(
            element("path", class_="wall", d=f"M{ax:.0f} {ay:.0f}L{bx:.0f} {by:.0f}", fill="none",
                    stroke="#000", stroke_width=size / (2 if kind == "outside" else 5),
                    stroke_dasharray=DASHES.get(kind))
        )  # fmt: skip
        along = max(hypot(bx - ax, by - ay), 1.0)
        # Outward of a counter-clockwise ring whose y has been turned to run downwards.
        out = size * 1.2
        middle = ((ax + bx) / 2 - (by - ay) / along * out, (ay + by) / 2 + (bx - ax) / along * out)
        parts.append(text(middle, f"{number + 1} {kind.replace('_', ' ')}", size=size * 0.75,
                          turn=90 if abs(by - ay) > abs(bx - ax) else 0))  # fmt: skip
    across = frame.at(((left + right) / 2, (low + high) / 2))
    corners = [frame.at(point) for point in dead]
    parts += [
        text((x + (1.6 if x < across[0] else -1.6) * size, y + (1 if y < across[1] else -1) * size),
             "dead", size=size * 0.9)
        for x, y in corners
    ]  # fmt: skip
    for brick in bricks:
        x, y = frame.at(brick.at)
        half = size * 0.5
        parts.append(
            element("rect", class_="brick", x=x - half, y=y - half, width=2 * half, height=2 * half,
                    fill="#000" if brick.open else "#fff", stroke="#000", stroke_width=size / 10)
        )  # fmt: skip
        if not brick.open:
            cross = f"M{x - half:.0f} {y - half:.0f}l{2 * half:.0f} {2 * half:.0f}"
            parts.append(element("path", d=cross, stroke="#000", stroke_width=size / 8))
        inner = size * 1.25 if y < (tall / 2 + edge) else -size * 1.25
        parts.append(text((x, y + inner), brick.words, size=size * 0.75))
    box = f"0 0 {wide + 2 * edge:.0f} {tall + 2 * edge:.0f}"
    return element(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", viewBox=box, role="img",
        class_="check-drawing", aria_label=name,
    )  # fmt: skip
