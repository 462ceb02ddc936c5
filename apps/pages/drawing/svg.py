"""SVG as text: elements with their attributes escaped, and points turned to run downwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import atan2, degrees
from xml.sax.saxutils import escape, quoteattr  # nosec B406 # it writes XML and reads none

Spot = tuple[float, float]

MONO = "DejaVu Sans Mono, ui-monospace, monospace"
SERIF = "Libertinus Serif, Charter, Georgia, serif"
MONO_ADVANCE = 0.602
"""Width of a character of a fixed-width face by its size (DejaVu Sans Mono: 1233 of 2048)."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where plan coordinates come to lie: one unit of the drawing is one mm of the house."""

    left: float
    high: float

    def at(self, point: Sequence[float]) -> Spot:
        return point[0] - self.left, self.high - point[1]


def element(name: str, inside: str | None = None, /, **attributes: object) -> str:
    """One element. `_` in a name stands for `-`; `class_` is `class`; None is left out.

    `inside` is SVG already; words come through `text`.
    """
    said = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(spelled(value))}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{said}/>" if inside is None else f"<{name}{said}>{inside}</{name}>"


def spelled(value: object) -> str:
    """Numbers to a tenth, the same on every machine; anything else as it is."""
    if isinstance(value, float):
        tenths = f"{value:.1f}".removesuffix(".0")
        return "0" if tenths == "-0" else tenths
    return visible(str(value))


def visible(words: str) -> str:
    """Without the characters that no XML may hold."""
    return "".join(one if one.isprintable() else "\ufffd" for one in words)


def listed(points: Iterable[Sequence[float]], frame: Frame) -> str:
    return " ".join(",".join(spelled(float(v)) for v in frame.at(point)) for point in points)


def polygon(points: Iterable[Sequence[float]], frame: Frame, **attributes: object) -> str:
    return element("polygon", points=listed(points, frame), **attributes)


def polyline(points: Iterable[Sequence[float]], frame: Frame, **attributes: object) -> str:
    return element("polyline", points=listed(points, frame), **attributes)


def text(
    at: Spot, words: str, *, size: float, turn: float = 0.0, mono: bool = False, class_: str = ""
) -> str:
    """Words about a spot of the drawing, with an edge of paper so that they read over lines."""
    x, y = float(at[0]), float(at[1])
    return element(
        "text",
        escape(visible(words)),
        class_=class_ or None,
        x=x,
        y=y,
        dy="0.35em",
        font_family=MONO if mono else SERIF,
        font_size=float(size),
        text_anchor="middle",
        fill="#000",
        stroke="#fff",
        stroke_width=float(size / 5),
        stroke_linejoin="round",
        paint_order="stroke",
        transform=f"rotate({spelled(turn)} {spelled(x)} {spelled(y)})" if turn else None,
    )


def ringed(at: Spot, letter: str, *, radius: float, class_: str = "") -> str:
    """A letter in a ring: who needs it."""
    ring = element(
        "circle", cx=float(at[0]), cy=float(at[1]), r=float(radius), fill="#fff", stroke="#000",
        stroke_width=float(radius / 7),
    )  # fmt: skip
    size = radius * (1.45 if len(letter) == 1 else 1.0)
    return element("g", ring + text(at, letter, size=size, mono=True), class_=class_ or None)


def upright(dx: float, dy: float) -> float:
    """The turn [degrees] of words along a direction of the drawing, never upside down."""
    turn = degrees(atan2(dy, dx))
    if turn > 89:
        return turn - 180
    return turn + 180 if turn < -91 else turn


def bounds(points: Iterable[Sequence[float]]) -> tuple[float, float, float, float]:
    """Left, low, right, high."""
    xs, ys = zip(*((point[0], point[1]) for point in points), strict=True)
    return min(xs), min(ys), max(xs), max(ys)
