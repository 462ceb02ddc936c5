"""Joists in a drawing: strips as wide as they are, with mark and letter beyond one end."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from apps.floors.shapes import Outline, Point
from apps.pages.drawing.hatches import JOIST_STYLES
from apps.pages.drawing.parts import JOIST_LETTERS, PlanJoist
from apps.pages.drawing.svg import MONO_ADVANCE, Frame, bounds, polygon, text, upright
from apps.property.outlines import inside

LABEL_MM, SMALL_LABEL_MM = 210, 130
BEYOND_MM = 90


def joist(one: PlanJoist, frame: Frame) -> str:
    """Its whole strip, and its decayed stretches over it."""
    (ax, ay), (bx, by) = one.line
    length = hypot(bx - ax, by - ay)
    if not length:
        return ""
    stretches = [(max(0, low), min(length, high)) for low, high in one.decayed]
    # Decayed for a part of its length: the rest is drawn as sound.
    whole = "sound" if one.condition == "decayed" and stretches else one.condition
    return strip(one, 0, length, frame, whole) + "".join(
        strip(one, low, high, frame, "decayed") for low, high in stretches if low < high
    )


def strip(one: PlanJoist, low: float, high: float, frame: Frame, style: str) -> str:
    (ax, ay), (bx, by) = one.line
    length = hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    half = one.breadth_mm / 2
    corners = [
        (ax + ux * at - uy * off, ay + uy * at + ux * off)
        for at, off in ((low, -half), (high, -half), (high, half), (low, half))
    ]
    return polygon(corners, frame, class_=f"j {style}", **JOIST_STYLES[style])  # type: ignore[index]


def joist_label(
    one: PlanJoist, frame: Frame, rooms: Sequence[Outline], *, size: int = LABEL_MM
) -> str:
    """ "J7 D" along the joist, beyond the end that leads out of the house where one does."""
    words = f"{one.mark} {JOIST_LETTERS[one.condition]}"
    reach = BEYOND_MM + len(words) * size * MONO_ADVANCE / 2
    ends = [beyond(one.line, reach), beyond(one.line[::-1], reach)]
    least = min(ends, key=lambda end: crowding(end, rooms))
    (ax, ay), (bx, by) = one.line
    return text(
        frame.at(least),
        words,
        size=size,
        turn=upright(bx - ax, ay - by),
        mono=True,
        class_="joist-mark",
    )


def beyond(line: Sequence[Point], reach: float) -> tuple[float, float]:
    """A spot so far [mm] beyond the second point of a line."""
    (ax, ay), (bx, by) = line
    length = hypot(bx - ax, by - ay) or 1
    return bx + (bx - ax) / length * reach, by + (by - ay) / length * reach


def crowding(at: tuple[float, float], rooms: Sequence[Outline]) -> tuple[bool, bool]:
    """Whether a spot is in a room, and whether it is between the rooms: least where it is out."""
    if not rooms:
        return False, False
    left, low, right, high = bounds(point for room in rooms for point in room)
    between = left <= at[0] <= right and low <= at[1] <= high
    return any(inside_of(at, room) for room in rooms), between


def inside_of(at: tuple[float, float], room: Outline) -> bool:
    return inside((round(at[0]), round(at[1])), [list(point) for point in room])
