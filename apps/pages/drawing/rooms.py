"""Rooms and doorways in a drawing, with the room's name where it has most space."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from apps.floors.shapes import Line, Outline
from apps.pages.drawing.parts import PlanRoom, Window
from apps.pages.drawing.svg import Frame, bounds, element, polygon, text

NAME_MM, SMALL_NAME_MM = 250, 140
SMALLEST = 0.6
"""So much of its size a name may shrink to before it runs over its walls."""
LETTER_WIDTH = 0.52
"""A letter is about half as wide as it is high."""
LONGEST_NAME = 26
LINES = 12
NAME_AT = 0.72
"""How far up a room its name stands: ways begin and letters lie in the middle."""
WALL_LINE_MM = 26
JAMB_MM = 150
"""A doorway's jambs reach this far to each side of its line: half of a thick wall."""


def room(one: PlanRoom, frame: Frame) -> str:
    return polygon(one.outline, frame, fill="#fff")


def walls(rooms: Sequence[PlanRoom], doorways: Sequence[Line], window: Window) -> str:
    """The rooms' walls over the boards, broken at the doorways, with a jamb at each side."""
    left, low, right, high = window
    frame = Frame(left, high)
    whole = {"x": 0, "y": 0, "width": right - left, "height": high - low}
    gaps = "".join(opening(line, frame) for line in doorways)
    mask = element(
        "mask", element("rect", fill="#ffffff", **whole) + gaps, id="floor-openings",
        maskUnits="userSpaceOnUse", **whole,
    )  # fmt: skip
    outlines = "".join(
        polygon(one.outline, frame, fill="none", stroke="#000", stroke_width=WALL_LINE_MM)
        for one in rooms
    )
    jambs = "".join(jambs_of(line, frame) for line in doorways)
    return mask + element("g", outlines, mask="url(#floor-openings)") + jambs


def opening(line: Line, frame: Frame) -> str:
    """Black in a mask: what is not drawn. Not the drawing's own black, which a page recolours."""
    (ax, ay), (bx, by) = (frame.at(point) for point in line)
    path = f"M{ax:.0f} {ay:.0f}L{bx:.0f} {by:.0f}"
    return element("path", d=path, stroke="#000000", stroke_width=2 * JAMB_MM + 60)


def jambs_of(line: Line, frame: Frame) -> str:
    (ax, ay), (bx, by) = (frame.at(point) for point in line)
    length = max(1.0, ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5)
    nx, ny = (by - ay) / length * JAMB_MM, (ax - bx) / length * JAMB_MM
    path = "".join(
        f"M{x - nx:.0f} {y - ny:.0f}L{x + nx:.0f} {y + ny:.0f}" for x, y in ((ax, ay), (bx, by))
    )
    return element("path", d=path, fill="none", stroke="#000", stroke_width=WALL_LINE_MM)


def room_name(one: PlanRoom, frame: Frame, *, size: int = NAME_MM) -> str:
    """Across where it fits, otherwise upwards; smaller if need be, cut if it must be."""
    name = one.name if len(one.name) <= LONGEST_NAME else f"{one.name[: LONGEST_NAME - 1]}…"
    _, low, _, high = bounds(one.outline)
    across, at = widest(one.outline)
    wanted = size * LETTER_WIDTH * len(name)
    turned = across < wanted and high - low > across
    room_mm = (high - low if turned else across) * 0.94
    fits = max(SMALLEST * size, min(size, room_mm / (LETTER_WIDTH * max(1, len(name)))))
    return text(frame.at(at), name, size=fits, turn=-90 if turned else 0, class_="room-name")


def widest(outline: Outline) -> tuple[float, tuple[float, float]]:
    """The widest level stretch inside an outline, nearest to its middle: width and centre."""
    _, low, _, high = bounds(outline)
    found: list[tuple[float, float, tuple[float, float]]] = []
    for step in range(1, LINES):
        y = low + (high - low) * step / LINES
        crossings = sorted(
            ax + (y - ay) * (bx - ax) / (by - ay)
            for (ax, ay), (bx, by) in pairwise(outline)
            if (ay <= y) != (by <= y)
        )
        for left, right in zip(crossings[::2], crossings[1::2], strict=False):
            off = abs(step - LINES * NAME_AT)
            found.append((round(right - left), -off, ((left + right) / 2, y)))
    if not found:
        left, low, right, high = bounds(outline)
        return right - left, ((left + right) / 2, (low + high) / 2)
    # A hall is widest at its foot; what matters is a long run of one width, so take the
    # commonest width and of its stretches the one in the middle.
    widths = [width for width, _, _ in found]
    usual = max(set(widths), key=lambda width: (widths.count(width), width))
    width, _, at = max(one for one in found if one[0] == usual)
    return width, at
