"""One change to a year's plan: show a plan that holds at once, then the best of the next weeks.

What has begun and what lies past the next weeks stays where it is. First the coming activities
are put down again in their old order, none sooner than before, so that only what the change
pushes moves; then the weeks are solved to optimality, and among the cheapest plans the one that
moves fewest activities is looked for. Where the weeks cannot take the change, more are opened.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from apps.planning.problem import Interval, Problem
from apps.planning.year import kernels as k
from apps.planning.year.states import Search, search_of
from apps.planning.year.sweep import cost_of
from apps.planning.year.tables import Ints, Tables, in_order, tables_of
from apps.planning.year.windows import improve

REPAIR_SHARE = 0.1  # of the time, for a search where putting down again breaks a rule
MOST_WIDER = 6  # times that the weeks are opened further
TRIES = 40


@dataclass(frozen=True, slots=True)
class Replanned:
    """A plan after a change.

    Attributes:
        spans: activity key → (start, end).
        cost: last end + Σ due_weight × units late.
        feasible: every rule is kept.
        proven: no plan that differs only in the weeks opened costs less.
        fewest: none of that cost moves fewer activities.
        moved: keys of activities whose start is not the old one.
        until: end of what was opened.
        first_seconds: when the first plan that keeps every rule was there; None: never.
        seconds: wall clock of the whole call.
    """

    spans: dict[str, Interval]
    cost: int
    feasible: bool
    proven: bool
    fewest: bool
    moved: tuple[str, ...]
    until: int
    first_seconds: float | None
    seconds: float


def replan(
    problem: Problem,
    before: Mapping[str, int],
    *,
    now: int,
    weeks: int,
    seconds: float,
    workers: int,
    seed: int = 1,
    on_first: Callable[[dict[str, Interval]], None] | None = None,
) -> Replanned:
    """Plan again from `now`, the next `weeks` (in units) free, from the old starts `before`."""
    started = perf_counter()

    def left() -> float:
        return seconds - (perf_counter() - started)

    until, wider = now + weeks, 0
    while True:
        free = {key for key, at in before.items() if now <= at < until}
        t = tables_of(problem, {key: at for key, at in before.items() if key not in free})
        broken, at = _put_again(t, before, min(left(), seconds * REPAIR_SHARE), seed)
        if not broken or wider == MOST_WIDER or left() < seconds / 2:
            break
        wider += 1
        until += weeks
    first = None if broken else perf_counter() - started
    if first is not None and on_first is not None:
        on_first(_spans(t, at))
    proven = fewest = False
    if not broken:
        inside = [i for i in range(t.n) if not t.fixed[i]]
        end = max(until, int(at[inside, 1].max(initial=0)))
        best = improve(
            t, at, inside, begin=now, end=end, seconds=0.6 * left(), seed=seed, workers=workers
        )
        if best.at is not None and cost_of(t, best.at) <= cost_of(t, at):
            at = best.at
        proven = best.proven
        old = at.copy()
        for i in inside:
            old[i, 0] = before[t.keys[i]]
        calm = improve(
            t, old, inside, begin=now, end=end, seconds=0.8 * left(), seed=seed, workers=workers,
            cost_at_most=cost_of(t, at), hint=at,
        )  # fmt: skip
        if calm.at is not None:
            at, fewest = calm.at, calm.proven
    spans = _spans(t, at)
    return Replanned(
        spans=spans,
        cost=cost_of(t, at),
        feasible=not broken,
        proven=proven,
        fewest=fewest,
        moved=tuple(key for key, span in spans.items() if span[0] != before.get(key)),
        until=until,
        first_seconds=first,
        seconds=perf_counter() - started,
    )


def _spans(t: Tables, at: Ints) -> dict[str, Interval]:
    return {key: (int(at[i, 0]), int(at[i, 1])) for i, key in enumerate(t.keys) if at[i, 1] < k.FAR}


def _put_again(t: Tables, before: Mapping[str, int], seconds: float, seed: int) -> tuple[int, Ints]:
    """Broken units and places: none sooner than before if that holds, else as it comes."""
    old = np.array([before.get(key, 0) for key in t.keys], np.int64)
    order = in_order(t, lambda i: (int(old[i]), i))
    later = t.act.copy()
    later[:, k.RELEASE] = np.maximum(later[:, k.RELEASE], np.where(t.fixed, 0, old))
    for tables in (replace(t, act=later), t):
        search = search_of(tables)
        search.put(order)
        _go(search, 0, seed)
        if not search.score[2]:
            return 0, search.at[2]
    begun = perf_counter()
    while search.score[2] and perf_counter() - begun < seconds:
        seed += 1
        _go(search, TRIES, seed)
    return int(search.score[2]), search.at[2]


def _go(search: Search, tries: int, seed: int) -> None:
    search.go(hot=30.0, cold=30.0, price=200.0, tries=tries, seed=seed)
