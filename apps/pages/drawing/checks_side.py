"""A joist from the side: its bearings, notches, holes, rot and a piece beside it, dimensioned.

Lengths are drawn true to each other, and depths too but `TALLER` times as large, so that a notch
of 20 mm can be seen on a joist of 4 m; the drawing says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from apps.pages.drawing.svg import element, text

TALLER = 3
PLATE_MM = 90
LEAST_LENGTH_MM = 1200


@dataclass(frozen=True, slots=True)
class SideCut:
    """A notch or hole: `from_mm`, `to_mm` along, `low_mm`, `high_mm` above the bottom edge."""

    kind: str
    from_mm: float
    to_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class Beside:
    """Another piece on its face, over part of the length."""

    from_mm: float
    to_mm: float
    depth_mm: float
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A joist from the side; 0 is the left end of its clear span.

    Attributes:
        bearings: length of what it rests on at each end; 0: nothing there.
        marks: places to dimension from the left, with a word each.
    """

    span_mm: float
    depth_mm: float
    bearings: tuple[float, float] = (0, 0)
    cuts: tuple[SideCut, ...] = ()
    rotten: tuple[tuple[float, float], ...] = ()
    beside: tuple[Beside, ...] = ()
    points: tuple[float, ...] = ()
    marks: tuple[tuple[float, str], ...] = ()


def side_drawn(side: Side, *, name: str) -> str:
    """The drawing; one unit is one mm along, and a third of a mm up."""
    left, right = side.bearings
    length = max(side.span_mm + left + right, LEAST_LENGTH_MM)
    size = length / 20
    tall = side.depth_mm * TALLER
    marks = sorted(dict.fromkeys((*cut_marks(side), *side.marks)))
    top = size * 2.2 if side.points else size * 0.8
    low = tall + PLATE_MM * TALLER / 2
    high = top + low + size * 1.7 * (len(marks) + 2)
    parts = [
        element("rect", x=-left, y=0, width=side.span_mm + left + right, height=tall,
                fill="#fff", stroke="#000", stroke_width=size / 9),
        *(rotten(one, side, size) for one in side.rotten),
        *(beside(one, side, size) for one in side.beside),
        *(cut(one, tall, size) for one in side.cuts),
        *(bearing(at, long, tall) for at, long in ((-left, left), (side.span_mm, right)) if long),
        *(arrow(at, size) for at in side.points),
        *(
            dimension(low + size * 1.7 * (number + 0.8), 0, at, words, size)
            for number, (at, words) in enumerate(marks)
        ),
        dimension(
            low + size * 1.7 * (len(marks) + 0.8), 0, side.span_mm,
            f"clear span {side.span_mm:.0f}", size,
        ),
    ]  # fmt: skip
    box = f"{-left - size:.0f} {-top:.0f} {length + 2 * size:.0f} {high:.0f}"
    return element(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", viewBox=box, role="img",
        class_="check-drawing", aria_label=name,
    )  # fmt: skip


def cut_marks(side: Side) -> list[tuple[float, str]]:
    return [((one.from_mm + one.to_mm) / 2, f"{one.kind} at") for one in side.cuts]


def cut(one: SideCut, tall: float, size: float) -> str:
    high, deep = (one.high_mm - one.low_mm) * TALLER, tall - one.high_mm * TALLER
    shared = {"fill": "#fff", "stroke": "#000", "stroke_width": size / 12}
    if one.kind == "hole":
        return element(
            "ellipse", class_="hole", cx=(one.from_mm + one.to_mm) / 2, cy=deep + high / 2,
            rx=(one.to_mm - one.from_mm) / 2, ry=high / 2, **shared,
        )  # fmt: skip
    return element(
        "rect", class_="notch", x=one.from_mm, y=deep, width=one.to_mm - one.from_mm, height=high,
        stroke_dasharray="12 8", **shared,
    )  # fmt: skip


def rotten(stretch: tuple[float, float], side: Side, size: float) -> str:
    """Hatched, and named, over the whole depth."""
    start = max(stretch[0], -side.bearings[0])
    end = min(stretch[1], side.span_mm + side.bearings[1])
    if end <= start:
        return ""
    tall, step = side.depth_mm * TALLER, size
    lines = [
        element("path", d=f"M{start + k * step:.0f} 0L{start + k * step:.0f} {tall:.0f}",
                stroke="#000", stroke_width=size / 14, fill="none")
        for k in range(1, int((end - start) / step) + 1)
    ]  # fmt: skip
    frame = element(
        "rect", class_="rotten", x=start, y=0, width=end - start, height=tall, fill="none",
        stroke="#000", stroke_width=size / 8, stroke_dasharray="20 12",
    )  # fmt: skip
    return "".join(lines) + frame + text(
        ((start + end) / 2, tall / 2), "rot", size=size * 0.8
    )  # fmt: skip


def beside(one: Beside, side: Side, size: float) -> str:
    tall = one.depth_mm * TALLER
    rect = element(
        "rect", class_="beside", x=one.from_mm, y=0, width=one.to_mm - one.from_mm, height=tall,
        fill="none", stroke="#000", stroke_width=size / 5,
    )  # fmt: skip
    return rect + text(((one.from_mm + one.to_mm) / 2, tall / 2), one.words, size=size * 0.8)


def bearing(at: float, long: float, tall: float) -> str:
    return element(
        "rect", class_="bearing", x=at, y=tall, width=long, height=PLATE_MM * TALLER / 2,
        fill="#000", stroke="#000",
    )  # fmt: skip


def arrow(at: float, size: float) -> str:
    return element(
        "path", class_="load", d=f"M{at:.0f} {-2 * size:.0f}V0l{-size / 3:.0f} {-size * 0.6:.0f}"
        f"M{at:.0f} 0l{size / 3:.0f} {-size * 0.6:.0f}",
        stroke="#000", stroke_width=size / 9, fill="none",
    )  # fmt: skip


def dimension(y: float, start: float, end: float, words: str, size: float) -> str:
    """A line from end to end with a tick at each, and its length in words."""
    tick = size * 0.35
    line = element(
        "path", d=f"M{start:.0f} {y:.0f}H{end:.0f}M{start:.0f} {y - tick:.0f}V{y + tick:.0f}"
        f"M{end:.0f} {y - tick:.0f}V{y + tick:.0f}",
        stroke="#000", stroke_width=size / 14, fill="none",
    )  # fmt: skip
    number = words if words[-1:].isdigit() else f"{words} {end:.0f}"
    middle = max((start + end) / 2, size * 0.3 * len(number))
    return line + text((middle, y - size * 0.62), number, size=size * 0.85)
