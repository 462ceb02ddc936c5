"""How fast a piece dries, from its readings: bounded least squares, and how far to trust it."""

from __future__ import annotations

from math import exp, log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from apps.timber.moisture import DryingSettings

TIME_CONSTANT_DAYS = (2.0, 1000.0)  # bounds of the fit: our choice
GRID = np.geomspace(*TIME_CONSTANT_DAYS, 160)  # time constants tried for each resample [days]
_EIGHTY = 1.2816  # standard normal: 80 % lie within so many deviations

Array = NDArray[np.float64]


def fit(
    days: Array, pct: Array, settles_pct: float, expected: float, settings: DryingSettings
) -> tuple[float, float]:
    """Moisture at day 0 [%] and time constant [days] that best explain the readings.

    M(t) = E + (M0 - E) exp(-t / tau), by bounded least squares. What is expected of the thickness
    counts as one more observation, so that two readings a day apart do not decide it alone.
    """
    shortest, longest = (log(bound) for bound in TIME_CONSTANT_DAYS)
    doubt = log(settings.spread) / _EIGHTY

    def misses(guess: Array) -> Array:
        on_curve = settles_pct + (guess[0] - settles_pct) * np.exp(-days / exp(guess[1]))
        return np.append(
            (on_curve - pct) / settings.meter_error_pct, (guess[1] - log(expected)) / doubt
        )

    begin = min(max(float(pct[0]), 0.01), 99.99)
    slope = min(max(log(expected), shortest + 0.01), longest - 0.01)
    best = least_squares(misses, [begin, slope], bounds=([0, shortest], [100, longest]))
    return float(best.x[0]), exp(float(best.x[1]))


def resampled(
    days: Array,
    pct: Array,
    settles_pct: float,
    fitted: tuple[float, float, float],
    settings: DryingSettings,
) -> tuple[tuple[float, float], ...]:
    """Curves through readings that might have been: residuals drawn anew, the meter's error and
    the doubt about the thickness added. For a given time constant the best start is linear, so
    each curve is the best of a grid."""
    begin, constant, expected = fitted
    chance = np.random.default_rng(settings.seed)
    size = (settings.samples, len(days))
    on_curve = settles_pct + (begin - settles_pct) * np.exp(-days / constant)
    misses = pct - on_curve
    drawn = chance.choice(misses - misses.mean(), size)
    drawn += chance.normal(0, settings.meter_error_pct, size)
    doubt = log(settings.spread) / _EIGHTY
    believed = log(expected) + doubt * chance.standard_normal(settings.samples)
    gaps = on_curve + drawn - settles_pct
    basis = np.exp(-days / GRID[:, None])
    weight = (basis**2).sum(axis=1)
    starts = gaps @ basis.T / weight
    left = (gaps**2).sum(axis=1)[:, None] - starts**2 * weight
    cost = left / settings.meter_error_pct**2
    cost += ((np.log(GRID) - believed[:, None]) / doubt) ** 2
    best = cost.argmin(axis=1)
    begins = np.clip(settles_pct + starts[np.arange(settings.samples), best], 0, 100)
    return tuple(zip(begins.tolist(), GRID[best].tolist(), strict=True))
