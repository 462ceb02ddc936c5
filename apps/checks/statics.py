"""Moments, shears and deflections of a beam on two supports: handbook formulas.

N and mm throughout. Standard results (as in Roark's Formulas), from memory, high confidence;
confirmed against PyNiteFEA 3.2.0. Points are (load, distance from the left support).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

SHEAR_SHAPE = 1.2  # 6/5 for a rectangle: its shear is not spread evenly over the depth

Points = Sequence[tuple[float, float]]


def udl_moment(w: float, span: float) -> float:
    """Greatest moment under a spread load w [N/mm]: wL²/8."""
    return w * span * span / 8


def udl_shear(w: float, span: float) -> float:
    """Greatest shear under a spread load: wL/2."""
    return w * span / 2


def udl_deflection(w: float, span: float, ei: float) -> float:
    """Deflection at mid-span from bending: 5wL⁴/384EI."""
    return 5 * w * span**4 / (384 * ei)


def udl_shear_deflection(w: float, span: float, ga: float) -> float:
    """Deflection at mid-span from shear of a rectangle: 1.2wL²/8GA."""
    return SHEAR_SHAPE * w * span * span / (8 * ga)


def point_moment(load: float, at: float, span: float) -> float:
    """Moment under a point load: Pab/L."""
    return load * at * (span - at) / span


def point_deflection(load: float, at: float, span: float, ei: float) -> float:
    """Greatest deflection from bending under a point load, wherever along the beam it is.

    Pa(L² − a²)^1.5/(9√3 EIL), a from the nearer support; at mid-span PL³/48EI.
    """
    near = min(at, span - at)
    return load * near * sqrt(span * span - near * near) ** 3 / (9 * sqrt(3) * ei * span)


def point_shear_deflection(load: float, at: float, span: float, ga: float) -> float:
    """Deflection from shear under a point load on a rectangle: 1.2Pab/LGA."""
    return SHEAR_SHAPE * point_moment(load, at, span) / ga


def reactions(w: float, points: Points, span: float) -> tuple[float, float]:
    """Reactions at the left and the right support."""
    half = w * span / 2
    right = sum(load * at for load, at in points) / span
    return half + sum(load for load, _ in points) - right, half + right


def moment_at(x: float, w: float, points: Points, span: float) -> float:
    """Moment at x from the left support; 0 outside the span."""
    if not 0 < x < span:
        return 0.0
    moment = w * x * (span - x) / 2
    for load, at in points:
        moment += load * (x * (span - at) if x <= at else at * (span - x)) / span
    return moment


def shear_at(x: float, w: float, points: Points, span: float) -> float:
    """Size of the shear at x from the left support, the greater one at a point load."""
    inside = min(max(x, 0.0), span)
    if not points:
        return abs(w * (span / 2 - inside))
    left, _ = reactions(w, points, span)
    before = left - w * inside - sum(load for load, at in points if at < inside)
    after = left - w * inside - sum(load for load, at in points if at <= inside)
    return max(abs(before), abs(after))


def greatest_moment(w: float, points: Points, span: float) -> tuple[float, float]:
    """The greatest moment along the beam and where it is, from the left support."""
    if not points:
        return udl_moment(w, span), span / 2
    left, _ = reactions(w, points, span)
    places = [at for _, at in points]
    if w > 0:
        places += [(left - sum(load for load, at in points if at < edge)) / w for edge in places]
        places.append((left - sum(load for load, _ in points)) / w)
    return max((moment_at(x, w, points, span), x) for x in places)


def greatest_moment_between(
    start: float, end: float, w: float, points: Points, span: float
) -> float:
    """The greatest moment on a stretch of the beam."""
    greatest, at = greatest_moment(w, points, span)
    if start <= at <= end:
        return greatest
    places = [start, end, *(place for _, place in points if start < place < end)]
    return max(moment_at(x, w, points, span) for x in places)


def softer_stretch(start: float, end: float, w: float, points: Points, span: float) -> float:
    """By how much mid-span sinks for each unit of extra flexibility (1/EI) on a stretch.

    The virtual-work integral of the moment with that of a unit load at mid-span, by Simpson's rule
    on each side of mid-span: exact for a spread load.
    """
    start, end = max(start, 0.0), min(end, span)
    total = 0.0
    for low, high in ((start, min(end, span / 2)), (max(start, span / 2), end)):
        if low < high:
            total += (high - low) / 12 * (
                moment_at(low, w, points, span) * min(low, span - low)
                + 2 * moment_at((low + high) / 2, w, points, span)
                * min(low + high, 2 * span - low - high)
                + moment_at(high, w, points, span) * min(high, span - high)
            )  # fmt: skip
    return total
