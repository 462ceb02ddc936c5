"""A joist as numbers: everything but its span worked out once, then all demands for a span.

Kept lean: the greatest span and the smallest section ask it some twenty times per joist.
"""

from __future__ import annotations

from dataclasses import dataclass

from apps.checks import statics, vibration
from apps.checks.bending import k_crit_undecked
from apps.checks.cuts import notch_to_hole_mm
from apps.checks.joist_input import Cut, JoistInput
from apps.checks.loads import PSI_2, Factors, JoistLoads, combinations, joist_loads
from apps.checks.notched_end import k_v
from apps.checks.section import NetSection, net_section
from apps.checks.strength import GAMMA_M, StrengthClass, k_def, k_h, k_mod, strength_class

Row = tuple[str, float, float]  # code, demand, capacity
AT_LEAST = frozenset({"frequency", "notch_to_hole"})  # here the demand has to reach its limit


@dataclass(frozen=True, slots=True)
class NetCut:
    """A cut with what it leaves, together with any cut at the same place."""

    number: int
    cut: Cut
    net: NetSection


@dataclass(frozen=True, slots=True)
class Member:
    """One joist, its section at 20 % moisture. Stresses N/mm², lengths mm, loads N and N/mm."""

    given: JoistInput
    grade: StrengthClass
    breadth: float
    depth: float
    inertia: float
    loads: JoistLoads
    cases: tuple[tuple[str, float, tuple[Factors, ...]], ...]  # suffix, k_mod, factors
    k_h: float
    k_sys: float
    k_def: float
    k_c_90: float
    k_dist: float
    cuts: tuple[NetCut, ...]

    @property
    def modulus(self) -> float:
        """Of bending, whole section [mm³]."""
        return self.breadth * self.depth**2 / 6

    def design_span(self, clear: float) -> float:
        """The span that is calculated, by the setting."""
        if self.given.settings.design_span == "clear":
            return clear
        left, right = self.given.ends
        return clear + (left.length_mm + right.length_mm) / 2

    def left_offset(self) -> float:
        """From the line of the left reaction to the left end of the clear span."""
        if self.given.settings.design_span == "clear":
            return 0.0
        return self.given.ends[0].length_mm / 2


def member(given: JoistInput, breadth: float, depth: float, *, with_cuts: bool) -> Member | None:
    """The joist with this section at 20 %; None where a cut leaves nothing of it."""
    grade = strength_class(given.strength_class)
    settings = given.settings
    nets = _cuts(given, breadth, depth) if with_cuts and given.cuts else ()
    if nets is None:
        return None
    modes = {
        "": given.load_duration,
        "_permanent": "permanent",
        "_point": settings.point_load_duration,
    }
    deck_ei = given.deck.ei_nmm2_m if given.deck else 0.0
    shares = (
        given.load_sharing
        and given.boards_on
        and given.deck is not None
        and given.deck.continuous
        and not any(wall.line == "along" for wall in given.partitions)
    )
    wet = given.moisture_pct is not None and given.moisture_pct >= settings.wet_timber_pct
    return Member(
        given=given,
        grade=grade,
        breadth=breadth,
        depth=depth,
        inertia=breadth * depth**3 / 12,
        loads=joist_loads(given, breadth * depth, grade.rho_mean),
        cases=tuple(
            (suffix, k_mod(given.service_class, modes[suffix]), factors)
            for suffix, factors in combinations(settings.combination).items()
        ),
        k_h=k_h(depth, grade.rho_k),
        k_sys=settings.k_sys if shares else 1.0,
        k_def=k_def(given.service_class, drying_under_load=wet),
        k_c_90=settings.k_c_90 if grade.softwood else 1.0,
        k_dist=vibration.k_dist(deck_ei, given.spacing_mm, strutted=given.strutting_rows > 0),
        cuts=nets,
    )


def _cuts(given: JoistInput, breadth: float, depth: float) -> tuple[NetCut, ...] | None:
    found = []
    for number, cut in enumerate(given.cuts, 1):
        here = [one for one in given.cuts if one.from_mm <= cut.to_mm and one.to_mm >= cut.from_mm]
        net = net_section(breadth, depth, [one.gone(depth) for one in here])
        if net is None:
            return None
        found.append(NetCut(number, cut, net))
    return tuple(found)


def rows(m: Member, clear: float, seen: dict[str, float] | None = None) -> list[Row]:
    """Every demand with its capacity for a clear span; partitions and cuts keep their share of it.

    Args:
        seen: filled with the figures on the way, where given.
    """
    span = m.design_span(clear)
    offset = m.left_offset()
    points = tuple((load, offset + share * clear) for load, share in m.loads.points)
    found: list[Row] = []
    _strength(found, m, span, points, seen)
    if m.cuts:
        _at_cuts(found, m, clear, span, points)
        apart = notch_to_hole_mm(m.given.cuts)
        if apart is not None and m.given.settings.notch_to_hole_least_mm > 0:
            least = m.given.settings.notch_to_hole_least_mm
            found.append(("notch_to_hole", max(apart, 1.0), least))
    _deflection(found, m, clear, span, points, seen)
    _vibration(found, m, span, seen)
    return found


def utilisation(m: Member, clear: float) -> float:
    """The greatest share of a limit used at a clear span."""
    return max(
        (limit / reached if code in AT_LEAST else reached / limit)
        for code, reached, limit in rows(m, clear)
    )


def _strength(
    found: list[Row],
    m: Member,
    span: float,
    points: statics.Points,
    seen: dict[str, float] | None,
) -> None:
    grade, settings = m.grade, m.given.settings
    crit = 1.0
    if not m.given.boards_on:
        crit = k_crit_undecked(m.breadth, m.depth, span, grade.f_m_k, grade.e_0_05)
    bend = crit * m.k_h * m.k_sys * grade.f_m_k / GAMMA_M
    shear = m.k_sys * grade.f_v_k / GAMMA_M
    crush = m.k_c_90 * grade.f_c_90_k / GAMMA_M
    modulus = m.modulus
    shear_area = settings.k_cr * m.breadth * m.depth / 1.5
    permanent = statics.greatest_moment(m.loads.permanent, points, span)[0]
    spread = statics.udl_moment(m.loads.imposed, span)
    single = settings.point_load_kn * 1000
    left, right = statics.reactions(m.loads.permanent, points, span)
    half = statics.udl_shear(m.loads.imposed, span)
    lengths = [
        m.breadth * (end.length_mm + min(settings.bearing_extra_mm, end.length_mm))
        for end in m.given.ends
    ]
    for suffix, mode, factors in m.cases:
        moment = first = second = 0.0
        for fg, fq, fp in factors:
            moment = max(moment, fg * permanent + fq * spread + fp * single * span / 4)
            first = max(first, fg * left + fq * half + fp * single)
            second = max(second, fg * right + fq * half + fp * single)
        end = max(first, second)
        found += (
            (f"bending{suffix}", moment / modulus, mode * bend),
            (f"shear{suffix}", end / shear_area, mode * shear),
            (f"bearing{suffix}", max(first / lengths[0], second / lengths[1]), mode * crush),
        )
        if seen is not None:
            seen[f"moment{suffix}_knm"] = moment * 1e-6
            seen[f"reaction{suffix}_kn"] = end * 1e-3
            seen[f"k_mod{suffix}"] = mode
    if seen is not None:
        seen["k_crit"] = crit


def _worst(
    m: Member, parts: tuple[float, float, float], over: float, capacity: float
) -> tuple[float, float]:
    """Demand and capacity of the case that uses most of it.

    Args:
        parts: of permanent, spread and concentrated load; divided by `over` they are stresses.
        capacity: without k_mod.
    """
    permanent, imposed, single = parts
    worst, found = -1.0, (0.0, 1.0)
    for _, mode, factors in m.cases:
        for fg, fq, fp in factors:
            demand = fg * permanent + fq * imposed + fp * single
            if demand / mode > worst:
                worst, found = demand / mode, (demand / over, mode * capacity)
    return found


def _at_cuts(
    found: list[Row], m: Member, clear: float, span: float, points: statics.Points
) -> None:
    grade, settings, given = m.grade, m.given.settings, m.given
    single = settings.point_load_kn * 1000
    permanent, imposed = m.loads.permanent, m.loads.imposed
    crit = 1.0
    if not given.boards_on:
        crit = k_crit_undecked(m.breadth, m.depth, span, grade.f_m_k, grade.e_0_05)
    bend = crit * m.k_h * m.k_sys * grade.f_m_k / GAMMA_M
    shear = m.k_sys * grade.f_v_k / GAMMA_M
    for one in m.cuts:
        start, end = stretch(m, one, clear)
        start, end = min(max(start, 0.0), span), min(max(end, 0.0), span)
        centre = min(max(span / 2, start), end)
        moments = (
            statics.greatest_moment_between(start, end, permanent, points, span),
            imposed * centre * (span - centre) / 2,
            statics.point_moment(single, centre, span),
        )
        forces = (
            max(
                statics.shear_at(start, permanent, points, span),
                statics.shear_at(end, permanent, points, span),
            ),
            imposed * max(abs(span / 2 - start), abs(span / 2 - end)),
            single * max(span - start, end) / span,
        )
        area = settings.k_cr * m.breadth * one.net.depth_mm / 1.5
        bending, shearing = f"cut_{one.number}_bending", f"cut_{one.number}_shear"
        found.append((bending, *_worst(m, moments, one.net.modulus_mm3, bend)))
        found.append((shearing, *_worst(m, forces, area, shear)))
        corner = end_notch_corner_mm(m, one, clear)
        if corner is not None:
            found.append(_end_notch(m, one, corner, span, points))


def stretch(m: Member, one: NetCut, clear: float) -> tuple[float, float]:
    """Where a cut begins and ends, from the left reaction."""
    middle = m.left_offset() + one.cut.at_mm / m.given.span_mm * clear
    return middle - one.cut.size_mm / 2, middle + one.cut.size_mm / 2


def end_notch_corner_mm(m: Member, one: NetCut, clear: float) -> float | None:
    """From the reaction to the corner of a notch under a bearing; None for any other cut."""
    cut = one.cut
    if cut.kind != "notch" or cut.edge != "bottom":
        return None
    middle = cut.at_mm / m.given.span_mm * clear
    halves = [end.length_mm / 2 for end in m.given.ends]
    if middle - cut.size_mm / 2 <= 0:
        return max(halves[0] + middle + cut.size_mm / 2, 0.0)
    if middle + cut.size_mm / 2 >= clear:
        return max(halves[1] + clear - middle + cut.size_mm / 2, 0.0)
    return None


def _end_notch(m: Member, one: NetCut, corner: float, span: float, points: statics.Points) -> Row:
    settings = m.given.settings
    single = settings.point_load_kn * 1000
    forces = (
        max(statics.reactions(m.loads.permanent, points, span)),
        statics.udl_shear(m.loads.imposed, span),
        single,
    )
    left = one.net.depth_mm
    breadth = m.breadth * (settings.k_cr if settings.notch_keeps_k_cr else 1.0)
    factor = k_v(m.depth, left, corner)
    area = breadth * left / 1.5
    return (
        f"cut_{one.number}_end_notch",
        *_worst(m, forces, area, factor * m.grade.f_v_k / GAMMA_M),
    )


def _deflection(
    found: list[Row],
    m: Member,
    clear: float,
    span: float,
    points: statics.Points,
    seen: dict[str, float] | None,
) -> None:
    settings = m.given.settings
    e = m.grade.e_0_mean
    ei, ga = e * m.inertia, m.grade.g_mean * m.breadth * m.depth
    imposed, permanent = (
        statics.udl_deflection(w, span, ei) + statics.udl_shear_deflection(w, span, ga)
        for w in (m.loads.imposed, m.loads.permanent)
    )
    for load, at in points:
        permanent += statics.point_deflection(load, at, span, ei)
        permanent += statics.point_shear_deflection(load, at, span, ga)
    for one in m.cuts:
        softer = (1 / one.net.inertia_mm4 - 1 / m.inertia) / e
        where = stretch(m, one, clear)
        of_one = statics.softer_stretch(*where, 1.0, (), span)
        permanent += softer * of_one * m.loads.permanent
        imposed += softer * of_one * m.loads.imposed
        if points:
            permanent += softer * statics.softer_stretch(*where, 0.0, points, span)
    final = permanent * (1 + m.k_def) + imposed * (1 + PSI_2 * m.k_def)
    plastered = m.given.ceiling == "plastered"
    over = settings.plastered_span_over if plastered else settings.bare_span_over
    found.append(("deflection", final, span / over))
    if seen is not None:
        seen["deflection_permanent_mm"] = permanent
        seen["deflection_imposed_mm"] = imposed
        seen["deflection_final_mm"] = final
        seen["deflection_limit_plastered_mm"] = span / settings.plastered_span_over
        seen["deflection_limit_bare_mm"] = span / settings.bare_span_over


def _vibration(found: list[Row], m: Member, span: float, seen: dict[str, float] | None) -> None:
    given, settings = m.given, m.given.settings
    ei = m.grade.e_0_mean * m.inertia
    ei_l = ei / given.spacing_mm * 1e-3  # Nm²/m
    first = vibration.frequency_hz(span, ei_l, m.loads.mass_kg_m2)
    unit = vibration.unit_deflection_mm(m.k_dist, settings.k_amp, span, ei)
    found += (
        ("frequency", first, settings.least_frequency_hz),
        ("unit_deflection", unit, vibration.unit_deflection_limit_mm(span)),
    )
    if given.deck is not None:
        wide = (given.floor_width_mm or span) / 1000
        long = span / 1000
        ei_b = given.deck.ei_nmm2_m * 1e-6
        modes = vibration.modes_below_40_hz(first, wide, long, ei_l, ei_b)
        velocity = vibration.impulse_velocity(modes, m.loads.mass_kg_m2, wide, long)
        found.append(("impulse", velocity, vibration.impulse_limit(unit, first, settings.damping)))
        if seen is not None:
            seen["modes_below_40_hz"] = modes
    if seen is not None:
        seen["k_dist"] = m.k_dist
        seen["mass_kg_m2"] = m.loads.mass_kg_m2
