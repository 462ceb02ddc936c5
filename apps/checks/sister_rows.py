"""Demands and capacities of a joist and its sister, each piece against its own grade."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from apps.checks import vibration
from apps.checks.beams import Bent
from apps.checks.bending import k_crit_undecked
from apps.checks.joist_input import Bearing
from apps.checks.loads import PSI_2, Factors, JoistLoads, joist_loads
from apps.checks.member import Member, Row, end_notch_corner_mm, rows
from apps.checks.notched_end import k_v
from apps.checks.sister_input import SisterInput
from apps.checks.sister_model import Effects, Pair
from apps.checks.splitting import f_90_rk_n
from apps.checks.statics import SHEAR_SHAPE
from apps.checks.strength import GAMMA_M

Numbers = NDArray[np.float64]

VIBRATION = frozenset({"frequency", "unit_deflection", "impulse"})


@dataclass(frozen=True, slots=True)
class Response:
    """Permanent, imposed and concentrated parts of one thing; rows of `point` are its places."""

    permanent: Numbers
    imposed: Numbers
    point: Numbers

    def factored(self, factors: Factors, load_n: float) -> Numbers:
        """The greatest size at each place, wherever the concentrated load stands."""
        spread = factors[0] * self.permanent + factors[1] * self.imposed
        found: Numbers = np.max(np.abs(spread + factors[2] * load_n * self.point), axis=0)
        return found


def respond(found: Effects, read: Callable[[Bent], Numbers], piece: str) -> Response:
    """One thing read off one of the two beams under all loads."""
    one, two, *rest = (
        read(linked.one if piece == "old" else linked.other)
        for linked in (found.permanent, found.imposed, *found.point)
    )
    return Response(one, two, np.array(rest))


def worst(m: Member, demand: Callable[[Factors], float], capacity: float) -> tuple[float, float]:
    """Demand and capacity of the case that uses most; the capacity is given without k_mod."""
    return max(
        ((demand(one), mode * capacity) for _, mode, factors in m.cases for one in factors),
        key=lambda both: both[0] / both[1],
    )


def all_loads(given: SisterInput, old: Member, sister: Member) -> JoistLoads:
    """What stands on the two together, the weight of both in it."""
    base = joist_loads(given.old_joist(), old.breadth * old.depth, old.grade.rho_mean)
    own = joist_loads(given.sister_joist(), sister.breadth * sister.depth, sister.grade.rho_mean)
    bare = joist_loads(given.old_joist(), 0.0, 0.0)
    return JoistLoads(
        base.permanent + own.permanent - bare.permanent,
        base.imposed,
        base.points,
        base.mass_kg_m2 + own.mass_kg_m2 - bare.mass_kg_m2,
    )


def shared_rows(m: Member, loads: JoistLoads, share: float, clear: float) -> list[Row]:
    """The joist's own checks under its share of the load."""
    given = m.given
    settings = replace(given.settings, point_load_kn=given.settings.point_load_kn * share)
    scaled = JoistLoads(
        loads.permanent * share,
        loads.imposed * share,
        tuple((load * share, at) for load, at in loads.points),
        loads.mass_kg_m2,
    )
    piece = replace(m, loads=scaled, given=replace(given, settings=settings))
    return [row for row in rows(piece, clear) if row[0] not in VIBRATION]


def pair_vibration(
    given: SisterInput, m: Member, loads: JoistLoads, span: float, ei: float
) -> list[Row]:
    """The footstep checks with the stiffness of the two together."""
    settings, spacing = given.old.settings, given.old.spacing_mm
    ei_l = ei / spacing * 1e-3
    first = vibration.frequency_hz(span, ei_l, loads.mass_kg_m2)
    unit = vibration.unit_deflection_mm(m.k_dist, settings.k_amp, span, ei)
    found = [
        ("frequency", first, settings.least_frequency_hz),
        ("unit_deflection", unit, vibration.unit_deflection_limit_mm(span)),
    ]
    if given.old.deck is not None:
        wide, long = (given.old.floor_width_mm or span) / 1000, span / 1000
        modes = vibration.modes_below_40_hz(
            first, wide, long, ei_l, given.old.deck.ei_nmm2_m * 1e-6
        )
        speed = vibration.impulse_velocity(modes, loads.mass_kg_m2, wide, long)
        found.append(("impulse", speed, vibration.impulse_limit(unit, first, settings.damping)))
    return found


def linked_rows(two: Pair, m: Member, found: Effects, piece: str, span: float) -> list[Row]:
    """Bending, shear and bearing of one piece of the pair as the beams share the load.

    The old joist is also checked bare, beyond the sister's ends. Without help from neighbours: a
    joist with a sister is not like the others.
    """
    settings, grade = m.given.settings, m.grade
    load = settings.point_load_kn * 1000
    beam = two.old if piece == "old" else two.sister
    grid = two.grid[(two.grid >= beam.from_mm) & (two.grid <= beam.to_mm)]
    if piece == "old":
        grid = grid[np.any([(grid >= a) & (grid <= b) for a, b in two.sound], axis=0)]
    moduli, depths = _left(m, grid)
    crit = 1.0
    if not m.given.boards_on:
        crit = k_crit_undecked(m.breadth, m.depth, span, grade.f_m_k, grade.e_0_05)
    bend = crit * m.k_h * grade.f_m_k / GAMMA_M
    moments = respond(found, _moments(grid), piece)
    shears = respond(found, lambda bent: bent.shear(grid), piece)
    areas = settings.k_cr * m.breadth * depths / 1.5
    bare = np.zeros(len(grid), dtype=bool)
    if piece == "old":
        bare = (grid <= two.sister.from_mm) | (grid >= two.sister.to_mm)
    result: list[Row] = []
    for code, where in (("bending", ~bare), ("bending_bare", bare)):
        if np.any(where):
            demand = _peak(moments, moduli, where, load)
            result.append((code, *worst(m, demand, bend)))
    every = np.ones(len(grid), dtype=bool)
    shear = _peak(shears, areas, every, load)
    result.append(("shear", *worst(m, shear, grade.f_v_k / GAMMA_M)))
    return [*result, *_bearings(two, m, found, piece, load)]


def _peak(
    found: Response, over: Numbers, where: Numbers, load_n: float
) -> Callable[[Factors], float]:
    """The greatest of a response, over a section property, at some of its places."""

    def demand(factors: Factors) -> float:
        return float(np.max((found.factored(factors, load_n) / over)[where]))

    return demand


def _sags(grid: Numbers) -> Callable[[Bent], Numbers]:
    return lambda bent: bent.deflection(grid)


def _moments(grid: Numbers) -> Callable[[Bent], Numbers]:
    return lambda bent: bent.moment(grid)


def _left(m: Member, grid: Numbers) -> tuple[Numbers, Numbers]:
    """Section modulus and depth along a piece, less at its cuts."""
    moduli, depths = np.full(len(grid), m.modulus), np.full(len(grid), m.depth)
    for one in m.cuts:
        here = (grid >= one.cut.from_mm - 1e-6) & (grid <= one.cut.to_mm + 1e-6)
        here[int(np.argmin(np.abs(grid - one.cut.at_mm)))] = True
        moduli[here] = np.minimum(moduli[here], one.net.modulus_mm3)
        depths[here] = np.minimum(depths[here], one.net.depth_mm)
    return moduli, depths


def _bearings(two: Pair, m: Member, found: Effects, piece: str, load: float) -> list[Row]:
    beam = two.old if piece == "old" else two.sister
    ends: tuple[Bearing | None, ...] = (
        two.given.old.ends if piece == "old" else two.given.sister_bearings
    )
    middle = two.given.old.span_mm / 2
    pushes = respond(found, lambda bent: np.array(bent.reactions), piece)
    settings = m.given.settings
    result: list[Row] = []
    for number, at in enumerate(beam.supports):
        end = ends[0] if at < middle else ends[1]
        if end is None:
            continue
        area = m.breadth * (end.length_mm + min(settings.bearing_extra_mm, end.length_mm))

        def push(f: Factors, n: int = number) -> float:
            return float(pushes.factored(f, load)[n])

        side = "left" if at < middle else "right"
        pressure = worst(m, push, m.k_c_90 * m.grade.f_c_90_k / GAMMA_M * area)
        result.append((f"bearing_{side}", pressure[0] / area, pressure[1] / area))
        for one in m.cuts:
            corner = end_notch_corner_mm(m, one, two.given.old.span_mm)
            if corner is None or (one.cut.at_mm < middle) != (at < middle):
                continue
            keeps = settings.k_cr if settings.notch_keeps_k_cr else 1.0
            over = keeps * m.breadth * one.net.depth_mm / 1.5
            split = k_v(m.depth, one.net.depth_mm, corner) * m.grade.f_v_k / GAMMA_M
            demand, capacity = worst(m, push, split * over)
            result.append((f"notch_{side}", demand / over, capacity / over))
    return result


def linked_sag(
    two: Pair, old: Member, sister: Member, found: Effects, creep: float
) -> tuple[float, float]:
    """Final sag of the pair where it is greatest, and its sag under 1 N at the place of `found`.

    The sag from shear is that of each piece under its own moment: 1.2 M/GA, exact for a beam on
    two supports.
    """
    final, single = 0.0, 0.0
    for piece, m, beam in (("old", old, two.old), ("new", sister, two.sister)):
        grid = two.grid[(two.grid >= beam.from_mm) & (two.grid <= beam.to_mm)]
        sags = respond(found, _sags(grid), piece)
        moments = respond(found, _moments(grid), piece)
        soft = SHEAR_SHAPE / (m.grade.g_mean * m.breadth * m.depth)
        permanent = sags.permanent + soft * np.abs(moments.permanent)
        imposed = sags.imposed + soft * np.abs(moments.imposed)
        sag = permanent * (1 + creep) + imposed * (1 + PSI_2 * creep)
        final = max(final, float(np.max(np.abs(sag))))
        single = max(single, float(np.max(np.abs(sags.point))))
    return final, single


def fixing_rows(
    two: Pair, old: Member, sister: Member, found: Effects
) -> tuple[list[Row], dict[str, float]]:
    """What the fixings carry, at the ends and between, and whether they split the wood [N].

    Force across the grain, so all of a place carry alike (n_ef = n, EN 1995-1-1 8.1.2).
    """
    settings = two.given.settings
    load = old.given.settings.point_load_kn * 1000
    strength = two.fixings.characteristic_n
    parts = (found.permanent, found.imposed, *found.point)
    one, other, *rest = (np.array(linked.link_forces) for linked in parts)
    forces = Response(one, other, np.array(rest))
    counts = np.array(two.counts, dtype=float)
    last = np.zeros(len(counts), dtype=bool)
    last[[0, 1, -2, -1]] = True
    result: list[Row] = []
    seen: dict[str, float] = {"fixing_characteristic_n": strength}
    for code, where in (("ends", last), ("along", ~last)):
        if np.any(where):
            each = worst(old, _peak(forces, counts, where, load), strength / GAMMA_M)
            result.append((f"fixings_{code}", *each))
            seen[f"fixing_{code}_n"] = each[0]
    share = settings.farthest_share
    for name, m in (("old", old), ("sister", sister)):
        split = f_90_rk_n(m.breadth, m.depth, share * m.depth) / GAMMA_M
        result.append(
            (
                f"{name}_splitting",
                *worst(m, lambda f: float(np.max(forces.factored(f, load))), split),
            )
        )
    return result, seen
