"""Orders to begin with: as the problem lists them, as an earlier plan had them, by urgency."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from apps.planning.year import kernels as k
from apps.planning.year.tables import Ints, Tables, in_order

SHARES = (0.0, 0.1, 0.2, 0.4, 0.7, 1.0)  # of urgency, against the problem's own order


def first_orders(t: Tables, start_from: Mapping[str, int] | None) -> list[Ints]:
    """One order from an earlier plan; or several, from the problem's own order to sheer urgency."""
    if start_from:
        before = [start_from.get(key, t.horizon) for key in t.keys]
        return [in_order(t, lambda i: (before[i], i))]
    urgent = _latest(t)
    own = np.linspace(0, t.horizon, max(2, t.n))
    return [in_order(t, ((1 - share) * own + share * urgent).__getitem__) for share in SHARES]


def _latest(t: Tables) -> Ints:
    """When each activity should have ended for the sake of dates behind it; roughly."""
    latest = np.minimum(t.act[:, k.DUE], t.horizon)
    latest[t.fixed] = t.at[t.fixed, 0]
    stretch = t.hour.shape[1] / np.maximum(1, t.hour[t.act[:, k.CAL], -1, 0])
    stretch[t.act[:, k.KIND] != k.CARRIED] = 1
    long = (t.act[:, k.WORK] * stretch).astype(np.int64)
    before: list[list[tuple[int, int]]] = [[] for _ in range(t.n)]
    for a, b, _, lag, _, _ in t.links:
        before[b].append((a, lag))
    ends = [*map(int, np.flatnonzero(t.fixed)), *map(int, in_order(t, int)[::-1])]
    for b in ends:
        start = latest[b] - (0 if t.fixed[b] else long[b])
        for a, lag in before[b]:
            latest[a] = min(latest[a], start - lag)
    return latest
