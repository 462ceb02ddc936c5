"""Boards in a drawing: their hatch, their marks, and one large letter for each patch of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from apps.pages.drawing.hatches import BOARD_FILLS
from apps.pages.drawing.parts import STATE_LETTERS, PlanBoard
from apps.pages.drawing.svg import MONO_ADVANCE, Frame, bounds, element, polygon, ringed, text

MARK_MM = 105
"""Height of a board's mark: most of the 150 to 175 mm that a board shows."""
LETTER_MM = 330
BESIDE_MM = 30
"""Boards this near each other belong to one patch."""


def board(one: PlanBoard, frame: Frame) -> str:
    """One board; what tonight asks of it is a heavy edge, broken where it must be decked."""
    return polygon(
        one.outline,
        frame,
        fill=BOARD_FILLS[one.state],
        data_board=one.id,
        class_=f"b {one.state}",
        stroke_width=30 if one.tonight else None,
        stroke_dasharray="90 60" if one.tonight == "deck" else None,
    )


def trap(one: PlanBoard, frame: Frame) -> str:
    """A trapped board has a bar across the middle of each of its long sides: it is held down."""
    left, low, right, high = bounds(one.outline)
    lies_along = right - left >= high - low
    wide = (high - low) if lies_along else (right - left)
    x, y = frame.at(((left + right) / 2, (low + high) / 2))
    half, near = wide / 2, wide * 0.3
    starts = (
        ((x - half, y - near), (x - half, y + near))
        if lies_along
        else ((x - near, y - half), (x + near, y - half))
    )
    bar = f"{'h' if lies_along else 'v'}{wide:.0f}"
    path = "".join(f"M{at_x:.0f} {at_y:.0f}{bar}" for at_x, at_y in starts)
    return element("path", d=path, fill="none", stroke="#000", stroke_width=24)


def board_mark(one: PlanBoard, frame: Frame) -> str:
    """Mark and letters along the board, then the rings of those who hold it, as far as they fit.

    On a board too short for all of it the mark goes first, then the rings; the letters stay.
    """
    left, low, right, high = bounds(one.outline)
    long, wide = max(right - left, high - low), min(right - left, high - low)
    size = min(MARK_MM, 0.65 * wide)
    radius = size * 0.6
    ring = 2 * radius + size * 0.15
    advance = size * MONO_ADVANCE
    rings = list(one.held_by)
    words = f"{one.mark} {one.letters}"
    if len(words) * advance + len(rings) * ring > long:
        words = one.letters
    while rings and len(words) * advance + len(rings) * ring > long:
        rings.pop()
    whole = len(words) * advance + len(rings) * ring
    x, y = frame.at(((left + right) / 2, (low + high) / 2))
    start = x - whole / 2
    drawn = text((start + len(words) * advance / 2, y), words, size=size, mono=True)
    for place, letter in enumerate(rings):
        at = start + len(words) * advance + ring * (place + 0.5)
        drawn += ringed((at, y), letter, radius=radius)
    turn = f"rotate(-90 {x:.0f} {y:.0f})" if high - low > right - left else None
    return element("g", drawn, transform=turn)


def patches(boards: Sequence[PlanBoard]) -> list[list[PlanBoard]]:
    """Boards of one floor in one state that lie side by side."""
    found: list[list[PlanBoard]] = []
    for one in boards:
        joined = [
            patch
            for patch in found
            if patch[0].floor_id == one.floor_id
            and patch[0].state == one.state
            and any(beside(one, other) for other in patch)
        ]
        found = [patch for patch in found if not any(patch is other for other in joined)]
        found.append([*(board for patch in joined for board in patch), one])
    return found


def beside(one: PlanBoard, other: PlanBoard) -> bool:
    left, low, right, high = bounds(one.outline)
    other_left, other_low, other_right, other_high = bounds(other.outline)
    return (
        left <= other_right + BESIDE_MM
        and other_left <= right + BESIDE_MM
        and low <= other_high + BESIDE_MM
        and other_low <= high + BESIDE_MM
    )


def patch_letter(patch: Sequence[PlanBoard], frame: Frame) -> str:
    """The state's letter on the board nearest to the middle of its patch."""
    middles = [middle(one) for one in patch]
    x = sum(spot[0] for spot in middles) / len(middles)
    y = sum(spot[1] for spot in middles) / len(middles)
    nearest = min(middles, key=lambda spot: ((spot[0] - x) ** 2 + (spot[1] - y) ** 2, spot))
    return text(frame.at(nearest), STATE_LETTERS[patch[0].state], size=LETTER_MM, mono=True)


def patch_letters(boards: Iterable[PlanBoard], frame: Frame) -> str:
    """Letters for a drawing seen from afar; fixed boards, the most of a floor, go without."""
    opened = [one for one in boards if one.state != "fixed"]
    return "".join(patch_letter(patch, frame) for patch in patches(opened))


def middle(one: PlanBoard) -> tuple[float, float]:
    left, low, right, high = bounds(one.outline)
    return (left + right) / 2, (low + high) / 2
