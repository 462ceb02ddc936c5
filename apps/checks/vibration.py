"""How a floor answers footsteps: EN 1995-1-1 7.3.3 with the UK National Annex (NA.2.6.2).

Base rules read in pcachim/eurocodesnb ec5-vibrations.ipynb; the UK numbers are from memory, high
confidence where not marked. No complete published example with its inputs was found.
"""

from __future__ import annotations

from math import log, pi, sqrt

K_DIST_LEAST = 0.30
K_STRUT = 0.97  # with properly fitted strutting
LIMIT_MM = 1.8  # up to 4 m
LIMIT_LONG = 16_500.0  # over 4 m: 16500 / L^1.1
LONG_MM = 4000.0
B_LEAST = 50.0  # the code's figure for b ends here


def frequency_hz(span_mm: float, ei_l_nm2_m: float, mass_kg_m2: float) -> float:
    """Lowest natural frequency of the floor: (π/2L²)√((EI)_l/m).

    Args:
        span_mm: design span.
        ei_l_nm2_m: stiffness along the joists, per metre width [Nm²/m].
        mass_kg_m2: permanent mass only.
    """
    span_m = span_mm / 1000
    return pi / (2 * span_m * span_m) * sqrt(ei_l_nm2_m / mass_kg_m2)


def k_dist(deck_ei_nmm2_m: float, spacing_mm: float, *, strutted: bool) -> float:
    """Share of a point load that one joist carries, at least 0.30.

    k_strut (0.38 − 0.08 ln(14 (EI)_b/s⁴)); never more than the whole load, which is also taken
    where no deck is known.
    """
    if deck_ei_nmm2_m <= 0:
        return 1.0
    share = 0.38 - 0.08 * log(14 * deck_ei_nmm2_m / spacing_mm**4)
    return min(max((K_STRUT if strutted else 1.0) * share, K_DIST_LEAST), 1.0)


def unit_deflection_mm(share: float, k_amp: float, span_mm: float, ei_nmm2: float) -> float:
    """Deflection under 1 kN at mid-span: 1000 k_dist k_amp L³/(48 EI)."""
    return 1000 * share * k_amp * span_mm**3 / (48 * ei_nmm2)


def unit_deflection_limit_mm(span_mm: float) -> float:
    """1.8 mm up to 4 m, 16500/L^1.1 over it (UK annex, table NA.6, from memory)."""
    return LIMIT_MM if span_mm <= LONG_MM else LIMIT_LONG / span_mm**1.1


def modes_below_40_hz(
    first_hz: float, width_m: float, span_m: float, ei_l: float, ei_b: float
) -> float:
    """n₄₀: {[(40/f₁)² − 1] (B/L)⁴ (EI)_l/(EI)_b}^0.25; stiffnesses alike, per metre."""
    fourth = ((40 / first_hz) ** 2 - 1) * (width_m / span_m) ** 4 * ei_l / ei_b
    return float(max(fourth, 0.0) ** 0.25)


def impulse_velocity(modes: float, mass_kg_m2: float, width_m: float, span_m: float) -> float:
    """Velocity after a unit impulse [m/(Ns²)]: 4 (0.4 + 0.6 n₄₀)/(mBL + 200)."""
    return 4 * (0.4 + 0.6 * modes) / (mass_kg_m2 * width_m * span_m + 200)


def impulse_constant(unit_mm: float) -> float:
    """b of the UK annex: 180 − 60a up to 1 mm, 160 − 40a above (from memory), at least 50."""
    return max(180 - 60 * unit_mm if unit_mm <= 1 else 160 - 40 * unit_mm, B_LEAST)


def impulse_limit(unit_mm: float, first_hz: float, damping: float) -> float:
    """What that velocity may be: b^(f₁ζ − 1), never more than 1 however stiff the floor."""
    return float(impulse_constant(unit_mm) ** min(first_hz * damping - 1, 0.0))
