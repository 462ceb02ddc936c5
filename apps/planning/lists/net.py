"""The kernels' arrays: activities in topological order, resources packed into words."""

from __future__ import annotations

from collections.abc import Iterable
from graphlib import CycleError, TopologicalSorter

import numpy as np

from .kernels import Arcs, Floats, Net, Words
from .question import Arc, Question

WORD_BITS = 64


def topological(question: Question) -> list[int] | None:
    """An order for list schedules; None where lists cannot keep the waits.

    They can where no wait bounds anything from above, with time running either way: then
    whatever comes later in a list can always be placed after what came before.
    """
    sorter: TopologicalSorter[int] = TopologicalSorter(dict.fromkeys(range(question.size), ()))
    for arc in question.arcs:
        if arc.lag < 0 or _mirrored(question, arc) < 0:
            return None
        sorter.add(arc.after, arc.before)
    try:
        return list(sorter.static_order())
    except CycleError:
        return None


def net_of(question: Question, order: list[int]) -> Net:
    """Pack a question whose demands all fit their capacities."""
    place = {activity: at for at, activity in enumerate(order)}
    forwards = [(place[arc.after], place[arc.before], arc.lag) for arc in question.arcs]
    backwards = [
        (place[arc.before], place[arc.after], _mirrored(question, arc)) for arc in question.arcs
    ]
    durations = [question.durations[activity] for activity in order]
    demands = [question.demands[activity] for activity in order]
    longest = list(durations)
    for after, before, lag in forwards:
        longest[before] = max(longest[before], lag)
        longest[after] = max(longest[after], lag)
    need, free, guard = _packed(demands, question.capacities)
    return Net(
        np.array(durations, np.int64),
        need,
        free,
        guard,
        _rows(len(order), forwards),
        _rows(len(order), backwards),
        _energy(durations, demands, question.capacities),
        sum(longest) + 2,
    )


def _mirrored(question: Question, arc: Arc) -> int:
    return arc.lag + question.durations[arc.after] - question.durations[arc.before]


def _rows(size: int, arcs: Iterable[tuple[int, int, int]]) -> Arcs:
    """(into, from, lag), sorted by where they come in."""
    table = np.array(sorted(arcs), np.int64).reshape(-1, 3)
    first = np.searchsorted(table[:, 0], np.arange(size + 1)).astype(np.int64)
    return Arcs(first, table[:, 1].copy(), table[:, 2].copy())


def _packed(
    demands: list[tuple[int, ...]], capacities: tuple[int, ...]
) -> tuple[Words, Words, Words]:
    """One field of a word for each resource, wide enough for its capacity and a guard bit."""
    words = [[0] * len(demands)]
    free, guard = [0], [0]
    used = 0
    for at, capacity in enumerate(capacities):
        bits = capacity.bit_length() + 1
        if used + bits > WORD_BITS:
            words.append([0] * len(demands))
            free.append(0)
            guard.append(0)
            used = 0
        for activity, demand in enumerate(demands):
            words[-1][activity] |= demand[at] << used
        free[-1] |= capacity << used
        guard[-1] |= 1 << (used + bits - 1)
        used += bits
    need = np.array(words, np.uint64).T.copy()
    return need, np.array(free, np.uint64), np.array(guard, np.uint64)


def _energy(
    durations: list[int], demands: list[tuple[int, ...]], capacities: tuple[int, ...]
) -> Floats:
    """Work as a share of what there is, scarce resources weighing more; never quite nothing."""
    share = np.array(
        [
            [
                units * duration / capacity if capacity else 0
                for units, capacity in zip(demand, capacities, strict=True)
            ]
            for duration, demand in zip(durations, demands, strict=True)
        ]
    ).reshape(len(durations), len(capacities))
    total = share.sum(axis=0)
    weight = total / total.max(initial=1e-9)
    weighed: Floats = share @ weight + 1e-3 * np.array(durations) + 1e-6
    return weighed
