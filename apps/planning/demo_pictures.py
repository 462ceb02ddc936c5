"""The pictures that the demo house keeps as evidence: plain drawings, the same every time."""

from __future__ import annotations

import io
from collections.abc import Collection, Sequence

from PIL import Image, ImageDraw

SIZE_PX = (480, 320)
MORTAR, BRICK, WOOD, ROT, INK, STEEL = (
    "#d9d0c3", "#a65c47", "#d8b07a", "#5b4330", "#202020", "#7d8791",
)  # fmt: skip
WALL_PX = 80
JOIST_PX = (60, 210)


def joists_png(
    *, joists: Sequence[str], decayed: Collection[str] = (), props_under: Collection[str] = ()
) -> bytes:
    """Joists that run into a brick wall, seen from above, each with its mark.

    Args:
        joists: their marks, from left to right.
        decayed: which of them have a dark end at the wall.
        props_under: which of them have a prop; a spreader then runs under all.
    """
    picture = Image.new("RGB", SIZE_PX, "white")
    pen = ImageDraw.Draw(picture)
    draw_wall(pen)
    step_px = SIZE_PX[0] // len(joists)
    breadth_px = min(40, step_px * 2 // 3)
    top, bottom = JOIST_PX
    for n, mark in enumerate(joists):
        left = n * step_px + (step_px - breadth_px) // 2
        third = breadth_px // 3
        pen.rectangle((left, top, left + breadth_px, bottom), fill=WOOD, outline=INK)
        if mark in decayed:
            pen.rectangle((left, top, left + breadth_px, WALL_PX + 30), fill=ROT, outline=INK)
        if mark in props_under:
            pen.rectangle((left + third, 242, left + 2 * third, 285), fill=STEEL)
        pen.text((left + 2, 292), mark, fill=INK)
    if props_under:
        pen.rectangle((step_px // 4, 226, SIZE_PX[0] - step_px // 4, 242), fill=WOOD, outline=INK)
    file = io.BytesIO()
    picture.save(file, "PNG")
    return file.getvalue()


def draw_wall(pen: ImageDraw.ImageDraw) -> None:
    """Four courses of brick in half bond."""
    pen.rectangle((0, 0, SIZE_PX[0], WALL_PX), fill=MORTAR)
    for course in range(4):
        for left in range(-30 * (course % 2), SIZE_PX[0], 60):
            pen.rectangle((left, course * 20, left + 57, course * 20 + 17), fill=BRICK)
