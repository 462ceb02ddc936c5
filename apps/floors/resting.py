"""What every board rests on, now that joists are decayed or gone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from apps.floors.geometry import Shapes, polygons
from apps.floors.shapes import BEARING_MM, OVERHANG_MM, Board, Joist, Support
from apps.floors.words import listed

BEYOND_MM = 10_000
"""A joist's strip goes on this far, to see how much of a board it misses."""

SOUND_SHARE = 0.5
ROUNDING_MM = 1.0


@dataclass(frozen=True, slots=True)
class _Rest:
    """One joist under one board, measured along the board at right angles to the joist [mm]."""

    joist: Joist
    carries: bool
    centre: float
    face_low: float
    face_high: float
    board_low: float
    board_high: float


def support(
    boards: Sequence[Board],
    joists: Sequence[Joist],
    *,
    bearing_mm: int = BEARING_MM,
    overhang_mm: int = OVERHANG_MM,
    widest_mm: int | None = None,
) -> dict[int, Support]:
    """Tell the boards that are safe to step on from those that are not, by board id.

    A joist carries a board if the board lies on it for `bearing_mm` along the board (half the
    joist's breadth always does: boards butt over its centre), and sound joist lies under at
    least half of the board's width there. A board is supported by two such joists or more,
    unless an end hangs free by more than `overhang_mm` beyond the outermost: it would tip.
    A board that is up or missing is judged as it would lie.

    Args:
        widest_mm: how far boards of this thickness span from joist to joist; a wider gap is said
            in the sentence, as such a board springs but rests. None: not known.

    Limits: counts rests. Says nothing of the strength of the joist or its bearings; a floor in
        doubt is for a structural engineer.
    """
    rests: dict[int, list[_Rest]] = {board.id: [] for board in boards}
    if boards and joists:
        for board, rest in _rests(boards, joists, bearing_mm):
            rests[board.id].append(rest)
    return {board.id: _support(board, rests[board.id], overhang_mm, widest_mm) for board in boards}


def _rests(
    boards: Sequence[Board], joists: Sequence[Joist], bearing_mm: float
) -> list[tuple[Board, _Rest]]:
    """Every crossing of a board and a joist, all measured at once."""
    shapes = polygons([board.outline for board in boards])
    whole = np.array([_strip(joist, 0, _length(joist)) for joist in joists])
    endless = np.array([_strip(joist, -BEYOND_MM, _length(joist) + BEYOND_MM) for joist in joists])
    sound = np.array([_sound(joist, strip) for joist, strip in zip(joists, whole, strict=True)])
    breadths = np.array([joist.breadth_mm for joist in joists], dtype=float)
    normals = np.array([_normal(joist) for joist in joists])
    centres = np.array([joist.line[0] for joist in joists], dtype=float)

    under, over = STRtree(shapes).query(whole, predicate="intersects")
    crossing = shapely.intersection(shapes[over], endless[under])
    real = shapely.area(shapely.intersection(shapes[over], whole[under])) > ROUNDING_MM
    under, over, crossing = under[real], over[real], crossing[real]
    on_sound = shapely.intersection(shapes[over], sound[under])
    low, high = _extent(crossing, normals[under])
    board_low, board_high = _extent(shapes[over], normals[under])
    needed = np.minimum(bearing_mm, breadths[under] / 2 - ROUNDING_MM)
    carries = (high - low >= needed) & (
        shapely.area(on_sound) >= SOUND_SHARE * shapely.area(crossing)
    )
    at = (centres[under] * normals[under]).sum(axis=1)
    figures = zip(at, low, high, board_low, board_high, strict=True)
    return [
        (boards[o], _Rest(joists[u], bool(c), *map(float, figure)))
        for o, u, c, figure in zip(over, under, carries, figures, strict=True)
    ]


def _length(joist: Joist) -> float:
    return LineString(joist.line).length


def _normal(joist: Joist) -> tuple[float, float]:
    """Unit vector at right angles to a joist, pointing the same way for parallel ones."""
    (ax, ay), (bx, by) = joist.line
    length = _length(joist)
    across, up = (by - ay) / length, (ax - bx) / length
    return (across, up) if (across + 1e-9, up) > (0, 0) else (-across, -up)


def _strip(joist: Joist, start: float, end: float) -> BaseGeometry:
    """The joist seen from above between two distances along its line."""
    (ax, ay), (bx, by) = joist.line
    length = _length(joist)
    dx, dy = (bx - ax) / length, (by - ay) / length
    line = LineString([(ax + dx * start, ay + dy * start), (ax + dx * end, ay + dy * end)])
    return line.buffer(joist.breadth_mm / 2, cap_style="flat")


def _sound(joist: Joist, whole: BaseGeometry) -> BaseGeometry:
    if joist.condition == "missing" or (joist.condition == "decayed" and not joist.decayed):
        return shapely.Polygon()
    gone = [_strip(joist, start, end) for start, end in joist.decayed]
    return whole.difference(shapely.union_all(gone))


def _extent(shapes: Shapes, normals: Shapes) -> tuple[Shapes, Shapes]:
    """From where to where each shape reaches along its direction [mm]."""
    corners, owner = shapely.get_coordinates(shapes, return_index=True)
    along = (corners * normals[owner]).sum(axis=1)
    low, high = np.full(len(shapes), np.inf), np.full(len(shapes), -np.inf)
    np.minimum.at(low, owner, along)
    np.maximum.at(high, owner, along)
    return low, high


def _support(
    board: Board, rests: Sequence[_Rest], overhang_limit_mm: float, widest_mm: int | None
) -> Support:
    ordered = sorted(rests, key=lambda rest: (rest.centre, rest.joist.id))
    sound = [rest for rest in ordered if rest.carries]
    lost = [rest for rest in ordered if not rest.carries]
    span = max((b.centre - a.centre for a, b in pairwise(sound)), default=0.0)
    overhang = 0.0
    if sound:
        overhang = max(
            0.0,
            sound[0].face_low - sound[0].board_low,
            sound[-1].board_high - sound[-1].face_high,
        )
    return Support(
        board_id=board.id,
        joist_ids=tuple(rest.joist.id for rest in sound),
        lost_ids=tuple(rest.joist.id for rest in lost),
        overhang_mm=round(overhang),
        span_mm=round(span),
        supported=len(sound) >= 2 and round(overhang) <= overhang_limit_mm,
        sentence=_sentence(board, sound, lost, round(overhang), overhang_limit_mm)
        + _too_wide(round(span), widest_mm),
    )


def _too_wide(span_mm: int, widest_mm: int | None) -> str:
    if widest_mm is None or span_mm <= widest_mm:
        return ""
    return f" Its joists are {span_mm} mm apart; such a board spans {widest_mm} mm."


def _sentence(
    board: Board,
    sound: Sequence[_Rest],
    lost: Sequence[_Rest],
    overhang_mm: int,
    limit_mm: float,
) -> str:
    on = listed([rest.joist.mark for rest in sound])
    off = listed([rest.joist.mark for rest in lost])
    no_more = f" {off} {'does' if len(lost) == 1 else 'do'} not carry it there." if lost else ""
    if not sound:
        return f"{board.mark} rests on no sound joist.{no_more}"
    if len(sound) == 1:
        return f"{board.mark} rests on one sound joist only, {on}.{no_more}"
    if overhang_mm > limit_mm:
        return (
            f"{board.mark} hangs free by {overhang_mm} mm beyond its last sound joist "
            f"({limit_mm:.0f} mm at most).{no_more}"
        )
    return f"{board.mark} rests on {on}.{no_more}"
