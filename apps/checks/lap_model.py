"""A lap as numbers: its pieces, its fixings and its loads."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import cast

from apps.checks.fasteners import (
    Ply,
    counted,
    double_shear,
    effective_diameter_mm,
    single_shear,
    slip_n_mm,
)
from apps.checks.fixing_patterns import Pattern
from apps.checks.joist_input import Cut, JoistInput
from apps.checks.lap_input import LapInput
from apps.checks.lap_statics import LapShape
from apps.checks.member import Member, member
from apps.checks.section import NetSection, net_section
from apps.checks.statics import Points
from apps.checks.strength import StrengthClass, strength_class


@dataclass(frozen=True, slots=True)
class Piece:
    """One side of the lap, its section at 20 % moisture; a pair of new pieces counts as one.

    Attributes:
        net_modulus, net_depth: of bending [mm³] and for shear, through a column of fixings.
        farthest: from an edge to the farthest fixing, the nearer of both ways [mm].
        cut_modulus, cut_depth: what the worst old cut within the lap leaves; None: there is none.
    """

    grade: StrengthClass
    breadth: float
    depth: float
    net_modulus: float
    net_depth: float
    farthest: float
    cut_modulus: float | None = None
    cut_depth: float | None = None

    @property
    def modulus(self) -> float:
        """Of bending, whole section [mm³]."""
        return self.breadth * self.depth**2 / 6

    @property
    def stiffness(self) -> tuple[float, float]:
        """EI and GA [Nmm², N]."""
        area = self.breadth * self.depth
        return self.grade.e_0_mean * area * self.depth**2 / 12, self.grade.g_mean * area


@dataclass(frozen=True, slots=True)
class Lap:
    """All of a lap but its pattern's words. N, mm, N/mm².

    Attributes:
        f_v_rk: strength of one fixing across the grain, all its planes, characteristic.
        row_rk: of a row along the grain; rise: of the highest row above the middle of all.
        bearings: lengths of the left and the right one.
    """

    given: LapInput
    joist: Member
    new: Piece
    old: Piece
    shape: LapShape
    planes: int
    f_v_rk: float
    row_rk: float
    rise: float
    k_ser: float
    permanent: float
    imposed: float
    points: Points
    bearings: tuple[float, float]


def mirrored(joist: JoistInput) -> JoistInput:
    """The same joist seen from its other side, so that every lap is at the left."""
    span = joist.span_mm
    return replace(
        joist,
        bearings=tuple(reversed(joist.bearings)),
        cuts=tuple(replace(cut, at_mm=span - cut.at_mm) for cut in joist.cuts),
        decayed=tuple((span - end, span - start) for start, end in joist.decayed),
        partitions=tuple(
            wall if wall.at_mm is None else replace(wall, at_mm=span - wall.at_mm)
            for wall in joist.partitions
        ),
    )


def cuts_in_lap(joist: JoistInput, cut_mm: int, lap_mm: int) -> list[Cut]:
    """Notches and holes of the old joist within the lap."""
    return [cut for cut in joist.cuts if cut.to_mm > cut_mm and cut.from_mm < cut_mm + lap_mm]


def lap(given: LapInput, joist: JoistInput, pattern: Pattern, section: tuple[float, float]) -> Lap:
    """Everything worked out once.

    Args:
        joist: with the lap at its left, see `mirrored`.
        section: of the old joist at 20 % moisture.

    Raises:
        ValueError: the fastener does not fit these pieces, or nothing is left of one.
    """
    # Without cuts there is always a member.
    whole = cast("Member", member(joist, *section, with_cuts=False))
    new_grade = strength_class(given.strength_class)
    share, bored = given.settings.screw_root_share, _bored(given, pattern)
    size = given.breadth_mm * given.sides, given.depth_mm
    new = _piece(new_grade, size, pattern, bored)
    old = _piece(whole.grade, section, pattern, bored)
    old = _with_cuts(old, cuts_in_lap(joist, given.cut_mm, pattern.length_mm))
    side = Ply(thickness_mm=given.breadth_mm, grade=new_grade)
    kept = Ply(thickness_mm=section[0], grade=whole.grade)
    d = effective_diameter_mm(given.fastener, share)
    across, along = (_one_fixing(given, side, kept, angle) for angle in (90.0, 0.0))
    apart = min(high - low for low, high in pairwise(pattern.columns))
    middle = (pattern.heights[0] + pattern.heights[-1]) / 2
    offset = whole.left_offset()
    start = offset + given.cut_mm
    own = whole.breadth * whole.depth * whole.grade.rho_mean
    heavier = max(new.breadth * new.depth * new_grade.rho_mean - own, 0.0) * 9.81e-9
    return Lap(
        given=given,
        joist=whole,
        new=new,
        old=old,
        shape=LapShape(
            span=whole.design_span(joist.span_mm),
            cut=start,
            tip=start + pattern.length_mm,
            columns=tuple(start + place for place in pattern.columns),
            rows=pattern.rows,
        ),
        planes=given.sides,
        f_v_rk=across,
        row_rk=along * counted(given.fastener, d, len(pattern.columns), apart),
        rise=pattern.heights[-1] - middle,
        k_ser=slip_n_mm(given.fastener, new_grade, whole.grade, d) * given.sides,
        permanent=whole.loads.permanent + heavier,
        imposed=whole.loads.imposed,
        points=tuple((load, offset + at * joist.span_mm) for load, at in whole.loads.points),
        bearings=(joist.ends[0].length_mm, joist.ends[1].length_mm),
    )


def _one_fixing(given: LapInput, side: Ply, kept: Ply, angle_deg: float) -> float:
    """Characteristic strength of one fixing, all its planes, force at an angle to the grain."""
    side, kept = replace(side, angle_deg=angle_deg), replace(kept, angle_deg=angle_deg)
    if given.sides == 2:
        return 2 * double_shear(given.fastener, side, kept).f_v_rk_n
    share = given.settings.screw_root_share
    return single_shear(given.fastener, side, kept, root_share=share).f_v_rk_n


def _bored(given: LapInput, pattern: Pattern) -> list[tuple[float, float]]:
    """Stretches of the depth that holes take; thin undrilled fasteners take none (5.2(2))."""
    fastener = given.fastener
    if not fastener.holed and fastener.diameter_mm <= 6:
        return []
    clearance = given.settings.hole_clearance_mm if fastener.kind == "bolt" else 0.0
    half = (fastener.diameter_mm + clearance) / 2
    return [(up - half, up + half) for up in pattern.heights]


def _piece(
    grade: StrengthClass,
    size: tuple[float, float],
    pattern: Pattern,
    bored: list[tuple[float, float]],
) -> Piece:
    breadth, depth = size
    lower = depth - pattern.depth_mm  # flush at the top
    gone = [(low + lower, high + lower) for low, high in bored]
    net = cast("NetSection", net_section(breadth, depth, gone))  # the edges are always left
    lowest, highest = pattern.heights[0] + lower, pattern.heights[-1] + lower
    return Piece(
        grade=grade,
        breadth=breadth,
        depth=depth,
        net_modulus=net.modulus_mm3,
        net_depth=net.depth_mm,
        farthest=min(highest, depth - lowest),
    )


def _with_cuts(old: Piece, cuts: list[Cut]) -> Piece:
    if not cuts:
        return old
    net = net_section(old.breadth, old.depth, [cut.gone(old.depth) for cut in cuts])
    if net is None:
        raise ValueError("A notch or hole leaves nothing of the old joist within the lap.")
    return replace(old, cut_modulus=net.modulus_mm3, cut_depth=net.depth_mm)
