"""Is this trimmer, or trimming joist, good enough? A beam with the point loads hung on it.

EN 1995-1-1 with the UK National Annex: bending, shear, bearing and final sag. No help from
neighbours: a trimmer has none (6.6).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from apps.checks.beams import Beam, Bent, bend
from apps.checks.bending import k_crit_undecked
from apps.checks.loads import G_M_S2, PSI_2, Factors, combinations
from apps.checks.results import Check, Note, against, outcome, salvaged_cautions
from apps.checks.statics import SHEAR_SHAPE
from apps.checks.strength import GAMMA_M, k_def, k_h, k_mod, strength_class
from apps.checks.timber_size import size_at
from apps.checks.trimming_input import PointLoad, TrimmerInput, TrimmerOutcome, trimmed_joists

__all__ = [
    "PointLoad",
    "TrimmerInput",
    "TrimmerOutcome",
    "check_trimmer",
    "trimmed_joists",
]

NAMES = {"trimmer": "The trimmer", "trimming_joist": "The trimming joist"}
MOST_COMMONS = 6
THICKER_MM = 25
CASE_WORDS = {
    "": "",
    "_permanent": " under the permanent load alone",
    "_point": " under the concentrated load",
}


@dataclass(frozen=True, slots=True)
class _Member:
    """The trimmer in figures: N and mm, its section at 20 % moisture."""

    given: TrimmerInput
    breadth: float
    depth: float
    low: float
    high: float
    permanent: float
    imposed: float

    @property
    def span(self) -> float:
        return self.high - self.low

    def bent(self, factors: Factors, at_mm: float | None = None) -> Bent:
        """The beam under factored loads, the concentrated one at a place."""
        given, (fg, fq, fp) = self.given, factors
        e = strength_class(given.strength_class).e_0_mean
        points = [(fg * p.permanent_n + fq * p.imposed_n, p.at_mm) for p in given.points]
        if at_mm is not None and fp:
            points.append((fp * given.settings.point_load_kn * 1000, at_mm))
        return bend(
            Beam(
                from_mm=self.low,
                to_mm=self.high,
                stiffness=((self.low, self.high, e * self.breadth * self.depth**3 / 12),),
                supports=(self.low, self.high),
                points=tuple(points),
                spread=((fg * self.permanent + fq * self.imposed, self.low, self.high),),
            )
        )


def check_trimmer(given: TrimmerInput) -> TrimmerOutcome:
    """All checks of a trimmer or trimming joist; none is given where its timber is damp."""
    name = NAMES[given.kind]
    basis = given.grade_basis
    if basis == "graded_by" and not given.graded_by.strip():
        basis = "assumed"
    cautions, warnings = salvaged_cautions(basis), tuple(_warnings(given, basis))
    limit = given.settings.void_limit_pct
    if given.moisture_pct is not None and given.moisture_pct > limit:
        damp = Note(
            "trimmer-damp",
            f"It reads {given.moisture_pct:g} %, over {limit:g} %: find why, and let it dry.",
            "EN 1995-1-1 2.3.1.3 (from memory): service class 2 ends at 20 % for softwood",
        )
        answer = outcome(name, (), blocked=(damp,), warnings=warnings, cautions=cautions)
        return TrimmerOutcome(answer, given)
    m = _member(given)
    figures = {
        "breadth_at_20_mm": m.breadth,
        "depth_at_20_mm": m.depth,
        "design_span_mm": m.span,
    }
    checks = (*_strength(m, figures), _sag(m, figures))
    answer = outcome(name, checks, warnings=warnings, cautions=cautions)
    permanent = m.bent((1.0, 0.0, 0.0)).reactions
    imposed = m.bent((0.0, 1.0, 0.0)).reactions
    ends = tuple(
        PointLoad(at_mm=at, permanent_n=max(g, 0.0), imposed_n=max(q, 0.0))
        for at, g, q in zip((0.0, float(given.span_mm)), permanent, imposed, strict=True)
    )
    return TrimmerOutcome(answer, given, figures, ends)


def _member(given: TrimmerInput) -> _Member:
    breadth = given.pieces * size_at(given.breadth_mm, given.moisture_pct)
    depth = size_at(given.depth_mm, given.moisture_pct)
    own = breadth * depth * strength_class(given.strength_class).rho_mean * G_M_S2 * 1e-9
    clear = given.settings.design_span == "clear"
    left, right = (0.0 if clear else end.length_mm / 2 for end in given.ends)
    return _Member(
        given,
        breadth,
        depth,
        -left,
        given.span_mm + right,
        given.dead_kn_m2 * given.strip_mm * 1e-3 + own,
        given.imposed_kn_m2 * given.strip_mm * 1e-3,
    )


def _strength(m: _Member, figures: dict[str, float]) -> Iterable[Check]:
    given, settings = m.given, m.given.settings
    grade = strength_class(given.strength_class)
    crit = 1.0
    if not given.boards_on:
        # Pieces bolted here and there buckle sideways one by one.
        alone = m.breadth / given.pieces
        crit = k_crit_undecked(alone, m.depth, m.span, grade.f_m_k, grade.e_0_05)
    bending = crit * k_h(m.depth, grade.rho_k) * grade.f_m_k / GAMMA_M
    k_c_90 = settings.k_c_90 if grade.softwood else 1.0
    lengths = [end.length_mm + min(settings.bearing_extra_mm, end.length_mm) for end in given.ends]
    durations = {
        "": given.load_duration,
        "_permanent": "permanent",
        "_point": settings.point_load_duration,
    }
    single = settings.point_load_kn * 1000
    for suffix, factors in combinations(settings.combination).items():
        mode = k_mod(given.service_class, durations[suffix])
        moment, ends = 0.0, [0.0, 0.0]
        for one in factors:
            places = [m.span / 2 + m.low, m.bent(one).greatest_moment()[1]] if one[2] else [None]
            moment = max(moment, *(m.bent(one, at).greatest_moment()[0] for at in places))
            found = m.bent(one).reactions
            ends = [max(end, push + one[2] * single) for end, push in zip(ends, found, strict=True)]
        area = settings.k_cr * m.breadth * m.depth / 1.5
        words = CASE_WORDS[suffix]
        yield against(
            f"bending{suffix}", f"The bending stress{words}",
            demand=moment / (m.breadth * m.depth**2 / 6), capacity=mode * bending, unit="N/mm²",
            clause="EN 1995-1-1 6.1.6, 6.3.3",
        )  # fmt: skip
        yield against(
            f"shear{suffix}", f"The shear stress at the bearing{words}",
            demand=max(ends) / area, capacity=mode * grade.f_v_k / GAMMA_M, unit="N/mm²",
            clause="EN 1995-1-1 6.1.7",
        )  # fmt: skip
        yield against(
            f"bearing{suffix}", f"The pressure on the bearing{words}",
            demand=max(end / long for end, long in zip(ends, lengths, strict=True)) / m.breadth,
            capacity=mode * k_c_90 * grade.f_c_90_k / GAMMA_M, unit="N/mm²",
            clause="EN 1995-1-1 6.1.5",
        )  # fmt: skip
        figures[f"moment{suffix}_knm"] = moment * 1e-6
        figures[f"reaction{suffix}_kn"] = max(ends) * 1e-3
    if given.pieces > 1 and given.points:
        fg, fq, _ = combinations("6.10")[""][0]
        hung = max(fg * p.permanent_n + fq * p.imposed_n for p in given.points)
        figures["between_pieces_kn"] = hung * (given.pieces - 1) / given.pieces * 1e-3


def _sag(m: _Member, figures: dict[str, float]) -> Check:
    given, settings = m.given, m.given.settings
    grade = strength_class(given.strength_class)
    wet = given.moisture_pct is not None and given.moisture_pct >= settings.wet_timber_pct
    creep = k_def(given.service_class, drying_under_load=wet)
    bent = m.bent((1 + creep, 1 + PSI_2 * creep, 0.0))
    shear = SHEAR_SHAPE * bent.greatest_moment()[0] / (grade.g_mean * m.breadth * m.depth)
    final = bent.greatest_deflection()[0] + shear
    figures["deflection_final_mm"] = final
    plastered = given.ceiling == "plastered"
    over = settings.plastered_span_over if plastered else settings.bare_span_over
    ceiling = " with a plastered ceiling" if plastered else ", no ceiling"
    return against(
        "deflection", f"The final sag{ceiling}",
        demand=final, capacity=m.span / over, unit="mm",
        clause="EN 1995-1-1 2.2.3, 7.2 and UK annex NA.5",
    )  # fmt: skip


def _warnings(given: TrimmerInput, basis: str) -> Iterable[Note]:
    if basis == "assumed":
        yield Note(
            "grade-assumed",
            f"{strength_class(given.strength_class).name} is an assumption. It was used as asked.",
            "BS 4978 / EN 14081: structural timber is graded (read in a TRADA article)",
        )
    common = given.common_breadth_mm
    if given.pieces == 1 and common is not None and given.breadth_mm < common + THICKER_MM:
        yield Note(
            "not-thicker-than-commons",
            f"By rule of thumb it is doubled, or {THICKER_MM} mm thicker than the common joists. "
            "The calculation decides.",
            "UK rule of thumb, from memory, medium",
        )
    if given.pieces > 1:
        yield Note(
            "bolt-the-pieces",
            "The pieces act as one when bolted about every 600 mm (M10 or M12, staggered, with "
            "large washers) and at every joist hung on one face.",
            "from memory, medium",
        )
    if given.kind == "trimmer" and len(given.points) > MOST_COMMONS:
        yield Note(
            "many-trimmed-joists",
            f"Old by-laws let a trimmer receive {MOST_COMMONS} joists at most; this one has "
            f"{len(given.points)}.",
            "Encyclopaedia Britannica, 11th edition, vol. 5, Croydon by-laws, read",
        )
    yield Note(
        "no-cuts-by-rule",
        "No notch or hole in a trimmer by rule of thumb: never without a calculation.",
        "labc.co.uk, read",
    )
    yield Note(
        "vibration-not-judged",
        "How the floor round an opening answers footsteps is not judged: the rules are for plain "
        "rows of joists.",
        "EN 1995-1-1 7.3.3",
    )
