"""The ways a dowel-type joint gives way: the expressions of Johansen's yield theory.

EN 1995-1-1 equations 8.6 and 8.7, from memory, high confidence; the same theory, with `friction` of
(1, 1), is that of the US NDS. Units as given, all of one system.
"""

from __future__ import annotations

from math import sqrt

FRICTION = (1.05, 1.15)  # on one and two hinges: EN 1995-1-1 8.2.2


def single_shear_modes(
    *,
    f_h_1: float,
    t_1: float,
    f_h_2: float,
    t_2: float,
    d: float,
    m_y: float,
    friction: tuple[float, float] = FRICTION,
) -> dict[str, float]:
    """Resistance of one shear plane in each of the six ways, a to f, without the rope effect.

    Args:
        f_h_1, t_1: strength of the wood and thickness on the head side; 2: on the point side.
        d: diameter; m_y: yield moment of the fastener.
    """
    beta = f_h_2 / f_h_1
    ratio = t_2 / t_1
    one, two = friction
    push = f_h_1 * d
    tilt = sqrt(beta + 2 * beta**2 * (1 + ratio + ratio**2) + beta**3 * ratio**2)
    head = sqrt(2 * beta * (1 + beta) + 4 * beta * (2 + beta) * m_y / (push * t_1**2))
    point = sqrt(2 * beta**2 * (1 + beta) + 4 * beta * (1 + 2 * beta) * m_y / (push * t_2**2))
    return {
        "a": push * t_1,
        "b": f_h_2 * t_2 * d,
        "c": push * t_1 / (1 + beta) * (tilt - beta * (1 + ratio)),
        "d": one * push * t_1 / (2 + beta) * (head - beta),
        "e": one * push * t_2 / (1 + 2 * beta) * (point - beta),
        "f": two * sqrt(2 * beta / (1 + beta)) * sqrt(2 * m_y * push),
    }


def double_shear_modes(
    *, f_h_1: float, t_1: float, f_h_2: float, t_2: float, d: float, m_y: float
) -> dict[str, float]:
    """The same for each of two shear planes: side pieces 1, the middle piece 2 (g, h, j, k)."""
    beta = f_h_2 / f_h_1
    one, two = FRICTION
    push = f_h_1 * d
    side = sqrt(2 * beta * (1 + beta) + 4 * beta * (2 + beta) * m_y / (push * t_1**2))
    return {
        "g": push * t_1,
        "h": 0.5 * f_h_2 * t_2 * d,
        "j": one * push * t_1 / (2 + beta) * (side - beta),
        "k": two * sqrt(2 * beta / (1 + beta)) * sqrt(2 * m_y * push),
    }
