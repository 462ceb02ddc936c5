"""A notch over the support splits the joist: EN 1995-1-1 6.5.2, from memory, high confidence."""

from __future__ import annotations

from math import sqrt

K_N_SOLID = 5.0


def k_v(depth_mm: float, left_mm: float, to_corner_mm: float, taper: float = 0.0) -> float:
    """What a notch on the supported side leaves of the shear strength (equation 6.62).

    Args:
        depth_mm: h, whole depth.
        left_mm: h_ef, depth over the notch.
        to_corner_mm: x, from the line of the reaction to the corner of the notch.
        taper: i, run over rise of a sloped end of the notch; 0 is square.

    Raises ValueError unless 0 < h_ef ≤ h and x ≥ 0.
    """
    if not 0 < left_mm <= depth_mm or to_corner_mm < 0 or taper < 0:
        raise ValueError("A notch leaves some of the depth, and its corner is not behind the end.")
    share = left_mm / depth_mm
    if share == 1:
        return 1.0
    above = K_N_SOLID * (1 + 1.1 * taper**1.5 / sqrt(depth_mm))
    below = sqrt(depth_mm) * (
        sqrt(share * (1 - share)) + 0.8 * to_corner_mm / depth_mm * sqrt(1 / share - share**2)
    )
    return min(1.0, float(above / below))
