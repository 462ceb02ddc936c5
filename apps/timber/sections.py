"""How a piece's section meets the wanted one: as it is, ripped, packed up, or too small."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from apps.checks.packers import Packer, stacks
from apps.checks.timber_size import grade_survives
from apps.timber.pieces_as_data import NeedData, PieceData
from apps.timber.roles import ROLES

# Thicknesses of packers on hand; 11 and 18 mm are sheet offcuts: common practice, no source.
PACKERS_MM = (2, 3, 5, 11, 18)
MOST_PACKERS = 3  # common practice, no source
MOST_PACKING_MM = 25  # common practice, no source: above it a cut bearer or a sistered joist
PACKED_WITHIN_MM = 1  # our choice


@dataclass(frozen=True, slots=True)
class Rip:
    """A cut along the grain, from one section to a smaller one [mm].

    `keeps_grade`: what comes off is little enough for a stamped or graded piece to stay so.
    """

    from_breadth_mm: int
    from_depth_mm: int
    to_breadth_mm: int
    to_depth_mm: int
    keeps_grade: bool

    @property
    def cuts(self) -> int:
        """Passes of the saw: one for each size that changes."""
        return (self.from_breadth_mm != self.to_breadth_mm) + (
            self.from_depth_mm != self.to_depth_mm
        )


@dataclass(frozen=True, slots=True)
class Section:
    """A piece's section put to a use [mm].

    Attributes:
        breadth_mm, depth_mm: as it will lie, turned and ripped if need be.
        turned: what was measured as the piece's depth lies across.
        rip: None where nothing comes off.
        packers_mm: what it is packed up with; empty where it is not.
        short_breadth_mm, short_depth_mm: missing of the wanted size, beyond the tolerance; 0: none.
    """

    breadth_mm: int
    depth_mm: int
    turned: bool
    rip: Rip | None
    packers_mm: tuple[int, ...]
    short_breadth_mm: int
    short_depth_mm: int

    @property
    def pack_mm(self) -> int:
        """How far it is packed up [mm]."""
        return sum(self.packers_mm)


@lru_cache(maxsize=256)
def packing(gap_mm: int, packers_mm: tuple[int, ...] = PACKERS_MM) -> tuple[int, ...]:
    """Packers that fill a gap, thickest first; empty where none do.

    At most three and 25 mm, not above the gap and at most 1 mm under it. Nearest to the gap first,
    then fewest; every stack is tried.
    """
    if gap_mm > MOST_PACKING_MM:
        return ()
    kinds = [Packer(thickness_mm=mm) for mm in sorted(packers_mm, reverse=True)]
    near = [
        stack
        for stack in stacks(kinds, most_pieces=MOST_PACKERS, most_tenths=gap_mm * 10)
        if stack.tenths >= (gap_mm - PACKED_WITHIN_MM) * 10 and stack.pieces
    ]
    if not near:
        return ()
    best = max(near, key=lambda stack: (stack.tenths, -stack.pieces))
    return tuple(
        round(kind.thickness_mm)
        for kind, count in zip(kinds, best.counts, strict=True)
        for _ in range(count)
    )


def section_for(
    need: NeedData, piece: PieceData, packers_mm: tuple[int, ...] = PACKERS_MM
) -> Section:
    """The best that a piece's section can do for a need: its larger side lies along the larger one
    that is wanted."""
    rule = ROLES[need.role]
    turned = (need.breadth_mm > need.depth_mm) != (piece.breadth_mm > piece.depth_mm)
    has = (piece.breadth_mm, piece.depth_mm)
    has_breadth, has_depth = reversed(has) if turned else has
    breadth, short_breadth = _one_way(has_breadth, need.breadth_mm, rule.breadth)
    depth, short_depth = _one_way(has_depth, need.depth_mm, rule.depth)
    rip = None
    if (breadth, depth) != (has_breadth, has_depth):
        kept = grade_survives(has_breadth, has_breadth - breadth)
        kept = kept and grade_survives(has_depth, has_depth - depth)
        rip = Rip(has_breadth, has_depth, breadth, depth, kept)
    packers = packing(short_depth, packers_mm) if rule.packs and short_depth else ()
    return Section(breadth, depth, turned, rip, packers, short_breadth, short_depth)


def _one_way(has_mm: int, wanted_mm: int, tolerance: tuple[int, int]) -> tuple[int, int]:
    """A size as used, and how much is missing of the wanted one [mm]."""
    under, over = tolerance
    if has_mm > wanted_mm + over:
        return wanted_mm, 0
    return has_mm, wanted_mm - has_mm if has_mm < wanted_mm - under else 0
