"""A drawn pattern of fixings: where each one goes, and the distances that decided it.

Positions are measured along the pieces from the end named by the caller, and up from the lower edge
of the shallower piece; the pieces are flush at the top. A joint that turns pushes along and across
the grain and both ways, so every distance is kept for either, and both edges count as loaded.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

from apps.checks.fasteners import Fastener
from apps.checks.spacings import either_way

ROUND_UP_MM = 5  # a tape reads easily in steps of five
USUAL_ROWS = {"bolt": 2, "screw": 3, "nail": 4}  # up the depth, where they fit: our choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Where one fixing goes [mm]."""

    along_mm: int
    up_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Distance:
    """A distance used in a pattern against the least one allowed [mm]."""

    code: str
    sentence: str
    used_mm: float
    least_mm: float
    clause: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Fixings drawn out.

    Attributes:
        kind: "nail", "screw" or "bolt"; name: as it is asked for in a shop.
        columns: places along the pieces [mm], each with `rows` fixings up the depth.
        length_mm, depth_mm: of the stretch where both pieces lie side by side.
        positions: every fixing.
        distances: all distances used, with the least ones.
        sentence: for whoever marks them out.
    """

    kind: str
    name: str
    diameter_mm: float
    count: int
    columns: tuple[int, ...]
    rows: int
    length_mm: int
    depth_mm: float
    positions: tuple[Position, ...]
    distances: tuple[Distance, ...]
    sentence: str

    @property
    def heights(self) -> tuple[int, ...]:
        """Heights of the fixings of a column above the lower edge [mm]."""
        return tuple(sorted({one.up_mm for one in self.positions}))


def up_the_depth(
    fastener: Fastener, depth_mm: float, *, root_share: float, rows: int | None = None
) -> tuple[int, ...]:
    """Heights of the fixings of one column, as far apart as the edges allow.

    Args:
        depth_mm: of the shallower piece.
        rows: how many; None: the usual number of its kind, or as many as fit.

    Raises:
        ValueError: the piece is too shallow for them, with a sentence.
    """
    least = either_way(fastener, root_share=root_share)
    edge = least.loaded_edge_mm
    lowest, highest = ceil(edge), floor(depth_mm - edge)
    fit = 0 if highest < lowest else 1 + (highest - lowest) // ceil(least.across_mm)
    wanted = min(USUAL_ROWS[fastener.kind], fit) if rows is None else rows
    if fit < 1 or wanted > fit or wanted < 1:
        needed = 2 * edge + max(wanted - 1, 0) * least.across_mm
        many = "one" if wanted <= 1 else f"{wanted} in a column"
        raise ValueError(
            f"A piece {depth_mm:.0f} mm deep is too shallow for {many} of {fastener}: with "
            f"{edge:.0f} mm to each edge it wants {needed:.0f} mm. Take a thinner fixing."
        )
    if wanted == 1:
        return (round(depth_mm / 2),)
    step = (highest - lowest) / (wanted - 1)
    return tuple(round(lowest + number * step) for number in range(wanted))


def rounded_up(distance_mm: float) -> int:
    """The distance on the tape: the next five millimetres."""
    return ceil(distance_mm / ROUND_UP_MM - 1e-9) * ROUND_UP_MM


def least_length_mm(fastener: Fastener, columns: int, *, root_share: float) -> int:
    """The shortest stretch that has room for a group of so many columns near each end."""
    least = either_way(fastener, root_share=root_share)
    return 2 * rounded_up(least.end_mm) + (2 * columns - 1) * rounded_up(least.along_mm)


def two_groups(
    fastener: Fastener,
    *,
    length_mm: int,
    depth_mm: float,
    columns: int,
    root_share: float,
    rows: int | None = None,
) -> Pattern:
    """A group of fixings near each end of a stretch where two pieces lie side by side.

    Args:
        length_mm: of the stretch; positions run from its first end to its last.
        columns: of fixings in each group.

    Raises:
        ValueError: the stretch is too short or a piece too shallow, with a sentence.
    """
    least = either_way(fastener, root_share=root_share)
    end, apart = rounded_up(least.end_mm), rounded_up(least.along_mm)
    heights = up_the_depth(fastener, depth_mm, root_share=root_share, rows=rows)
    needed = least_length_mm(fastener, columns, root_share=root_share)
    if length_mm < needed:
        raise ValueError(
            f"{length_mm} mm is too short for {columns} "
            f"{'column' if columns == 1 else 'columns'} of {fastener} near each end: they want "
            f"{needed} mm."
        )
    first = [end + number * apart for number in range(columns)]
    places = (*first, *(length_mm - place for place in reversed(first)))
    return Pattern(
        kind=fastener.kind,
        name=str(fastener),
        diameter_mm=fastener.diameter_mm,
        count=len(places) * len(heights),
        columns=places,
        rows=len(heights),
        length_mm=length_mm,
        depth_mm=depth_mm,
        positions=tuple(Position(along_mm=along, up_mm=up) for along in places for up in heights),
        distances=_distances(fastener, places, heights, length_mm, depth_mm, root_share),
        sentence=_told(fastener, places, heights, columns),
    )


def _distances(
    fastener: Fastener,
    places: tuple[int, ...],
    heights: tuple[int, ...],
    length_mm: int,
    depth_mm: float,
    root_share: float,
) -> tuple[Distance, ...]:
    least = either_way(fastener, root_share=root_share)
    edge = min(heights[0], depth_mm - heights[-1])
    found = [
        ("end", "from the end of a piece", min(places[0], length_mm - places[-1]), least.end_mm),
        ("edge", "from the nearer edge", edge, least.loaded_edge_mm),
        ("along", "apart along the grain", _nearest(places), least.along_mm),
    ]
    if len(heights) > 1:
        found.append(("across", "apart up the depth", _nearest(heights), least.across_mm))
    return tuple(
        Distance(
            code=code,
            sentence=f"{used:.0f} mm {what}; at least {needed:.0f} mm.",
            used_mm=used,
            least_mm=needed,
            clause=least.clause,
        )
        for code, what, used, needed in found
    )


def _nearest(places: tuple[int, ...]) -> float:
    return float(min(high - low for low, high in pairwise(places)))


def _told(
    fastener: Fastener, places: tuple[int, ...], heights: tuple[int, ...], columns: int
) -> str:
    where = " and ".join(f"{place} mm" for place in places[:columns])
    up = " and ".join(f"{height} mm" for height in heights)
    group = columns * len(heights)
    return (
        f"{group} {fastener}{'s' if group > 1 else ''} near each end, {2 * group} in all: {where} "
        f"from each end, {up} above the lower edge of the shallower piece."
    )
