"""Where the fixings of a sister go: along all of the sound joist beside it, two above each other at
the last two places of every stretch, one at mid-depth between."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from apps.checks.fastener_settings import FixingSettings
from apps.checks.fasteners import Fastener
from apps.checks.fixing_patterns import Distance, Pattern, Position, rounded_up, up_the_depth
from apps.checks.spacings import Distances, either_way
from apps.repairs.fixings import NoRoomError

USUAL_END_MM = 100
"""From the end of a stretch to its first fixing, where the table does not ask for more (common
practice, no source)."""

AT_ENDS = 2
"""Above each other at the last two places of a stretch (common practice, no source)."""

ON_THE_TAPE_MM = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What a fixing asks of the pieces.

    Attributes:
        heights: of the fixings at the ends above the lower edge [mm].
        middle_mm: height of one that stands alone.
        end_mm: from the end of a stretch to its first fixing.
    """

    least: Distances
    heights: tuple[int, ...]
    middle_mm: int
    end_mm: int
    depth_mm: float


def rule(chosen: Fastener, depth_mm: float) -> Rule:
    """Its distances in a piece of this depth, the shallower one (tables 8.2 and 8.4).

    Raises:
        NoRoomError: the piece is too shallow, with the sentence that says how much is missing.
    """
    share = FixingSettings().screw_root_share
    least = either_way(chosen, root_share=share)
    try:
        heights = up_the_depth(chosen, depth_mm, root_share=share, rows=AT_ENDS)
    except ValueError as exc:
        raise NoRoomError(str(exc)) from exc
    end_mm = max(USUAL_END_MM, rounded_up(least.end_mm))
    return Rule(
        least=least, heights=heights, middle_mm=round(depth_mm / 2), end_mm=end_mm,
        depth_mm=depth_mm,
    )  # fmt: skip


def sister_pattern(
    chosen: Fastener,
    rule: Rule,
    stretches: Sequence[tuple[float, float]],
    *,
    length_mm: int,
    spacing_mm: int,
    ends: Iterable[float] = (),
) -> Pattern | None:
    """The fixings of a sister, from its end next to the joist's start.

    Args:
        stretches: where the joist beside it is sound (from, to) [mm].
        length_mm: of the sister.
        spacing_mm: from place to place, at most.
        ends: where the joist beside it ends, is cut or begins again [mm].

    Returns:
        None where no stretch has room for two places.
    """
    rows = [places(rule, stretch, spacing_mm) for stretch in stretches]
    double = sorted({at for row in rows for at in (*row[:2], *row[-2:])})
    single = sorted({at for row in rows for at in row[2:-2]})
    columns = tuple(sorted({*double, *single}))
    if len(columns) < 2:
        return None
    positions = [Position(along_mm=at, up_mm=up) for at in double for up in rule.heights]
    positions += [Position(along_mm=at, up_mm=rule.middle_mm) for at in single]
    positions.sort(key=lambda one: (one.along_mm, one.up_mm))
    return Pattern(
        kind=chosen.kind,
        name=str(chosen),
        diameter_mm=chosen.diameter_mm,
        count=len(positions),
        columns=columns,
        rows=AT_ENDS,
        length_mm=length_mm,
        depth_mm=rule.depth_mm,
        positions=tuple(positions),
        distances=distances(rule, columns, (0, length_mm, *ends)),
        sentence=in_words(chosen, rule, len(positions), double, single),
    )


def places(rule: Rule, stretch: tuple[float, float], spacing_mm: int) -> tuple[int, ...]:
    """Evenly from near one end of a stretch to near the other; none where two have no room."""
    start, end = stretch[0] + rule.end_mm, stretch[1] - rule.end_mm
    room = int((end - start - ON_THE_TAPE_MM) // rule.least.along_mm)
    gaps = min(ceil((end - start) / spacing_mm - 1e-9), room)
    if gaps < 1:
        return ()
    even = (start + (end - start) * number / gaps for number in range(gaps + 1))
    return tuple(round(at / ON_THE_TAPE_MM) * ON_THE_TAPE_MM for at in even)


def distances(rule: Rule, columns: tuple[int, ...], ends: Iterable[float]) -> tuple[Distance, ...]:
    least = rule.least
    from_end = min(abs(at - end) for at in columns for end in ends)
    edge = min(rule.heights[0], rule.depth_mm - rule.heights[-1])
    found = (
        ("end", "from the end of a piece", from_end, least.end_mm),
        ("edge", "from the nearer edge", edge, least.loaded_edge_mm),
        ("along", "apart along the grain", nearest(columns), least.along_mm),
        ("across", "apart up the depth", nearest(rule.heights), least.across_mm),
    )
    return tuple(
        Distance(
            code=code,
            sentence=f"{used:.0f} mm {what}; at least {wanted:.0f} mm.",
            used_mm=float(used),
            least_mm=float(wanted),
            clause=least.clause,
        )
        for code, what, used, wanted in found
    )


def nearest(rows: tuple[int, ...]) -> int:
    return min(two - one for one, two in pairwise(rows))


def in_words(chosen: Fastener, rule: Rule, count: int, double: list[int], single: list[int]) -> str:
    low, high = rule.heights[0], rule.heights[-1]
    told = (
        f"{count} {chosen}s, measured from the sister's end next to the joist's start. Two above "
        f"each other, {low} mm and {high} mm above the lower edge of the shallower piece, at "
        f"{listed(double)} mm."
    )
    return f"{told} One at mid-depth at {listed(single)} mm." if single else told


def listed(rows: list[int]) -> str:
    *most, last = (str(row) for row in rows)
    return f"{', '.join(most)} and {last}" if most else last
