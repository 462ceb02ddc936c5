"""Three-point estimates: low, likely and high minutes as a PERT-beta distribution.

A beta distribution stretched over [low, high] whose mode is `likely` and whose mean is
(low + 4·likely + high) / 6: shapes α = 1 + 4 (likely - low) / (high - low) and
β = 1 + 4 (high - likely) / (high - low). The mean is that of Malcolm, Roseboom, Clark and
Fazar, "Application of a technique for research and development program evaluation",
Operations Research 7 (1959), pp. 646-669; the shapes are Vose, "Risk analysis", 3rd ed. (2008)
(both from memory). The variance follows from the shapes: (mean - low) (high - mean) / 7.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from zlib import crc32

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# How many times the likely value counts against each end: the 4 of the PERT mean.
LIKELY_COUNTS = 4.0


class Estimate(NamedTuple):
    """Minutes as a person estimates them: 0 < low ≤ likely ≤ high."""

    low: float
    likely: float
    high: float


def mean(estimate: Estimate) -> float:
    """The expected minutes: (low + 4·likely + high) / 6."""
    low, likely, high = estimate
    return (low + LIKELY_COUNTS * likely + high) / (LIKELY_COUNTS + 2)


def variance(estimate: Estimate) -> float:
    """The variance in minutes²: (mean - low) (high - mean) / 7."""
    middle = mean(estimate)
    return (middle - estimate.low) * (estimate.high - middle) / (LIKELY_COUNTS + 3)


def shapes(estimate: Estimate) -> tuple[float, float]:
    """α and β of the beta distribution; both 1 when there is no spread."""
    low, likely, high = estimate
    if high <= low:
        return 1.0, 1.0
    return (
        1 + LIKELY_COUNTS * (likely - low) / (high - low),
        1 + LIKELY_COUNTS * (high - likely) / (high - low),
    )


def draw(estimate: Estimate, runs: int, chance: np.random.Generator) -> NDArray[np.float64]:
    """So many sampled durations in minutes; without spread all of them `likely`."""
    low, likely, high = estimate
    if high <= low:
        return np.full(runs, float(likely))
    return low + (high - low) * chance.beta(*shapes(estimate), size=runs)


def luck(seed: int, name: str) -> np.random.Generator:
    """A stream of chance for one name: what one task draws does not depend on the others."""
    return np.random.default_rng([seed, crc32(name.encode())])
