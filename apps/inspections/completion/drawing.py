"""Floor drawings as SVG, to a stated scale: what lies where, told without colour.

A joist's condition shows twice, by the pattern of its strip and by a letter behind its mark,
so that a black-and-white copy says as much as the sheet. Lengths are mm in the house unless a
name says paper. Plan coordinates run x to the right and y up; paper runs y down.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import atan2, degrees, hypot
from typing import Any

from apps.inspections.completion.strokes import (
    MARGIN_PAPER_MM,
    Drawing,
    Sheet,
    Window,
    bounds,
    box,
    document,
    meets,
    outline_of,
    paper,
    text,
)

# Scales an architect's rule has (ISO 5455:1979, from memory: reductions of 1:2, 1:5, 1:10 and
# their tenfolds; 1:25 is common practice, no source).
SCALES = (10, 20, 25, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)
AROUND_MM = 500
SMALL_PAPER_MM = 2.4
OPEN_STATES = {"up", "missing"}
LETTERS = {"sound": "S", "suspect": "?", "decayed": "D", "new": "N", "missing": "M"}
STRIPS = {
    "sound": 'fill="#fff" stroke="#000" stroke-width="0.18"',
    "suspect": 'fill="#fff" stroke="#000" stroke-width="0.25" stroke-dasharray="1.6 0.8"',
    "decayed": 'fill="url(#crossed)" stroke="#000" stroke-width="0.18"',
    "new": 'fill="#000" stroke="#000" stroke-width="0.18"',
    "missing": 'fill="none" stroke="#000" stroke-width="0.22" stroke-dasharray="0.3 0.9"',
}


def plan_of_floor(
    floor: dict[str, Any],
    rooms: Iterable[dict[str, Any]],
    *,
    most_width_mm: float = 170,
    most_height_mm: float = 205,
) -> Drawing:
    """A floor from above: rooms, boards that were lifted, joists with mark and condition.

    Args:
        floor: as in the record, with `outline`, `joists` and `boards`; a board has `state` and
            `was_lifted`.
        rooms: those of the floor's storey; only what lies near the floor is drawn.
        most_width_mm: room on paper [mm]; the largest scale that fits is taken.
        most_height_mm: the same, downwards.
    """
    xs = [point[0] for point in floor["outline"]]
    ys = [point[1] for point in floor["outline"]]
    left, right = min(xs) - AROUND_MM, max(xs) + AROUND_MM
    low, high = min(ys) - AROUND_MM, max(ys) + AROUND_MM
    scale = scale_that_fits(
        right - left, high - low, most_width_mm=most_width_mm, most_height_mm=most_height_mm
    )
    sheet = Sheet(left, high, scale)
    width = (right - left) / scale + 2 * MARGIN_PAPER_MM
    height = (high - low) / scale + 2 * MARGIN_PAPER_MM + 8
    window = (left, low, right, high)
    parts = [
        *(room_parts(room, sheet, window) for room in rooms),
        *(board_parts(board, sheet) for board in floor["boards"]),
        *(joist_parts(joist, sheet) for joist in floor["joists"]),
        outline_of(floor["outline"], sheet, 'fill="none" stroke="#000" stroke-width="0.5"'),
        *(board_mark(board, sheet) for board in floor["boards"]),
        *(joist_label(joist, sheet) for joist in floor["joists"]),
        *(room_name(room, sheet, window) for room in rooms),
        scale_bar(sheet, height),
    ]
    clip = (
        f'<defs><clipPath id="window"><rect x="{MARGIN_PAPER_MM}" y="{MARGIN_PAPER_MM}" '
        f'width="{paper((right - left) / scale)}" height="{paper((high - low) / scale)}"/>'
        "</clipPath></defs>"
    )
    return Drawing(document(width, height, clip + "".join(parts)), width, height, scale)


def scale_that_fits(
    width: float, height: float, *, most_width_mm: float, most_height_mm: float
) -> int:
    """The largest scale at which width × height [mm in the house] fits the room on paper."""
    for scale in SCALES:
        if (
            width / scale + 2 * MARGIN_PAPER_MM <= most_width_mm
            and height / scale + 2 * MARGIN_PAPER_MM + 8 <= most_height_mm
        ):
            return scale
    return SCALES[-1]


def room_parts(room: dict[str, Any], sheet: Sheet, window: Window) -> str:
    if not meets(room["outline"], window):
        return ""
    style = 'fill="none" stroke="#444" stroke-width="0.35" clip-path="url(#window)"'
    return outline_of(room["outline"], sheet, style)


def room_name(room: dict[str, Any], sheet: Sheet, window: Window) -> str:
    """The room's name in what is seen of it: across or upwards, as it fits, small if need be.

    A room of which next to nothing is seen goes without a name.
    """
    if not meets(room["outline"], window):
        return ""
    left, low, right, high = bounds(room["outline"])
    left, low = max(left, window[0]), max(low, window[1])
    right, high = min(right, window[2]), min(high, window[3])
    across, upwards = (right - left) / sheet.scale, (high - low) / sheet.scale
    name = room["name"] if len(room["name"]) <= 28 else room["name"][:27] + "…"
    # A letter is about half as wide as it is high.
    size = min(3.4, max(across, upwards) / (0.5 * len(name)))
    if size < 1.8 or min(across, upwards) < size:
        return ""
    fits_across = across >= 0.5 * size * len(name)
    middle = sheet.at(((left + right) / 2, (low + high) / 2))
    return text(middle, name, size=round(size, 2), turn=0 if fits_across else -90)


def board_parts(board: dict[str, Any], sheet: Sheet) -> str:
    """A board: thin where it was never touched, hatched where it was lifted, the other way and
    closely where it is open today."""
    fill = "none"
    if board["state"] in OPEN_STATES:
        fill = "url(#open)"
    elif board["was_lifted"]:
        fill = "url(#lifted)"
    return outline_of(board["outline"], sheet, f'fill="{fill}" stroke="#aaa" stroke-width="0.08"')


def board_mark(board: dict[str, Any], sheet: Sheet) -> str:
    """The mark of a board that was moved, along it, where it is wide enough to carry one."""
    left, low, right, high = bounds(board["outline"])
    moved = board["was_lifted"] or board["state"] in OPEN_STATES
    if not moved or min(right - left, high - low) / sheet.scale < SMALL_PAPER_MM:
        return ""
    turn = -90 if high - low > right - left else 0
    middle = sheet.at(((left + right) / 2, (low + high) / 2))
    return text(middle, board["mark"], size=1.5, turn=turn, mono=True, edge=0.4)


def joist_parts(joist: dict[str, Any], sheet: Sheet) -> str:
    """The joist's strip, as wide as it is, and its decayed stretches."""
    start, end = joist["line"]
    length = hypot(end[0] - start[0], end[1] - start[1])
    drawn = strip(joist, 0, length, sheet, STRIPS[joist["condition"]])
    for stretch in joist["decayed"]:
        drawn += strip(
            joist, min(length, stretch["from_mm"]), min(length, stretch["to_mm"]), sheet,
            STRIPS["decayed"],
        )  # fmt: skip
    return drawn


def strip(joist: dict[str, Any], from_mm: float, to_mm: float, sheet: Sheet, style: str) -> str:
    """A stretch of a joist, measured from the start of its line [mm]."""
    start, end = joist["line"]
    length = hypot(end[0] - start[0], end[1] - start[1])
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    half = joist["breadth_mm"] / 2
    corners = [
        (start[0] + along[0] * at - along[1] * off, start[1] + along[1] * at + along[0] * off)
        for at, off in ((from_mm, -half), (to_mm, -half), (to_mm, half), (from_mm, half))
    ]
    return outline_of(corners, sheet, style)


def joist_label(joist: dict[str, Any], sheet: Sheet) -> str:
    """Mark and letter beyond the end of the joist, along it: never over its neighbour's."""
    start, end = sorted((sheet.at(point) for point in joist["line"]), key=lambda p: (p[1], p[0]))
    length = hypot(end[0] - start[0], end[1] - start[1])
    away = ((start[0] - end[0]) / length, (start[1] - end[1]) / length)
    words = f"{joist['mark']} {LETTERS[joist['condition']]}"
    reach = 1.2 + 0.66 * len(words)
    turn = degrees(atan2(away[1], away[0]))
    if turn > 89:
        turn -= 180
    elif turn < -91:
        turn += 180
    at = (start[0] + away[0] * reach, start[1] + away[1] * reach)
    return text(at, words, size=2.1, turn=turn, mono=True)


def scale_bar(sheet: Sheet, height: float) -> str:
    """One, ten or a hundred metres on paper, so that a copy that was shrunk gives itself away."""
    metres = 1 if sheet.scale <= 100 else 10 if sheet.scale <= 1000 else 100
    long = metres * 1000 / sheet.scale
    x, y = MARGIN_PAPER_MM, height - 4
    ticks = "".join(
        f"M{paper(x + long * part)} {paper(y - 1)}V{paper(y + 1)}" for part in (0, 0.5, 1)
    )
    return (
        f'<path d="M{paper(x)} {paper(y)}H{paper(x + long)}{ticks}" stroke="#000" '
        f'stroke-width="0.3" fill="none"/>'
        + text((x + long + 12, y), f"{metres} m at 1:{sheet.scale}", size=2.8)
    )


def sections_of(floor: dict[str, Any], *, scale: int = 10) -> Drawing | None:
    """The floor's joists cut across, one of each kind, under the boards, with their marks.

    None where the floor has no joists, or more than ten kinds (then the table tells it better).
    """
    kinds: dict[tuple[int, int, str], list[str]] = {}
    for joist in floor["joists"]:
        key = (joist["breadth_mm"], joist["depth_mm"], joist["condition"])
        kinds.setdefault(key, []).append(joist["mark"])
    if not 0 < len(kinds) <= 10:
        return None
    pitch = max(16.0, *(breadth / scale + 8 for breadth, _, _ in kinds))
    thick = floor["board_thickness_mm"] / scale
    deepest = max(depth for _, depth, _ in kinds) / scale
    width, height = pitch * len(kinds) + 2, 3 + thick + deepest + 13
    parts = [
        # The boards over them.
        box(1, 3, width - 2, thick, 'fill="#eee" stroke="#000" stroke-width="0.18"'),
    ]
    for place, ((breadth, depth, condition), marks) in enumerate(sorted(kinds.items())):
        middle = 1 + pitch * (place + 0.5)
        said = marks[0] if len(marks) == 1 else f"{marks[0]} +{len(marks) - 1}"
        parts += [
            box(
                middle - breadth / scale / 2,
                3 + thick,
                breadth / scale,
                depth / scale,
                STRIPS[condition],
            ),
            text((middle, 6 + thick + deepest), f"{breadth}×{depth}", size=2.4),
            text(
                (middle, 9.5 + thick + deepest), f"{said} {LETTERS[condition]}", size=2, mono=True
            ),
        ]
    return Drawing(document(width, height, "".join(parts)), width, height, scale)
