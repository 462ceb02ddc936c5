"""Force across the grain may split a piece at its fixings: EN 1995-1-1 8.1.4, from memory, high."""

from __future__ import annotations

from math import sqrt

NEAR_ALL = 0.99  # a fastener on the far edge makes the expression infinite: our limit


def f_90_rk_n(thickness_mm: float, depth_mm: float, farthest_mm: float) -> float:
    """Characteristic splitting resistance of softwood: 14 b √(h_e/(1 − h_e/h)) (equation 8.4).

    Args:
        farthest_mm: h_e, from the loaded edge to the farthest fastener.

    Raises:
        ValueError: the fastener is not within the depth.
    """
    if not 0 < farthest_mm < depth_mm:
        raise ValueError("A fixing lies between the edges of the piece.")
    reached = min(farthest_mm, NEAR_ALL * depth_mm)
    return 14 * thickness_mm * sqrt(reached / (1 - reached / depth_mm))
