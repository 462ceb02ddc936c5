"""Solve a cutting problem: take it apart, search each component, put the answer together."""

from __future__ import annotations

import time
from collections import Counter, deque
from collections.abc import Sequence

from apps.timber.cutting.components import Split, split
from apps.timber.cutting.measure import measure
from apps.timber.cutting.plans import Plan, ranks
from apps.timber.cutting.problem import (
    LEVELS,
    CuttingProblem,
    CuttingSolution,
    Level,
    LevelName,
    Pattern,
)
from apps.timber.cutting.search import Found
from apps.timber.cutting.worker import ANSWER_SECONDS, Job, work_off, work_together


def solve_cutting(
    problem: CuttingProblem,
    *,
    seconds: float,
    workers: int = 1,
    seed: int = 0,
    until: LevelName = "cuts",
    start: Sequence[Pattern] = (),
) -> CuttingSolution:
    """The best plan that can be found in the time, with a bound for every level.

    `until` is the last level to look at (`"cost"` leaves pieces, waste and cuts to chance).
    `start` is a plan of an earlier, like problem: what of it still holds is where the search
    begins, so an answer is never worse than the one before it if that is still possible.
    The same problem, seed and number of workers give the same plan as long as the time is
    enough to prove it; otherwise the plan depends on how fast the machine is.
    """
    begun = time.perf_counter()
    apart = split(problem)
    job = Job(
        components=apart.components,
        plans=tuple(_carried_over(problem, apart, start)),
        names=LEVELS[: LEVELS.index(until) + 1],
        end=begun + seconds - ANSWER_SECONDS,
        seed=seed,
    )
    answers = work_together(job, begun) if workers > 1 else work_off(job)
    patterns, missing = _together(problem, apart, [answer.plan for answer in answers])
    reached = _levels(problem, apart, answers, patterns, missing, until)
    return CuttingSolution(
        patterns=patterns,
        unmet=missing,
        levels=reached,
        proven=all(level.proven for level in reached),
        seconds=time.perf_counter() - begun,
    )


def _levels(
    problem: CuttingProblem,
    apart: Split,
    answers: Sequence[Found],
    patterns: Sequence[Pattern],
    missing: Sequence[tuple[str, int]],
    until: LevelName,
) -> tuple[Level, ...]:
    """Values of the whole and bounds put together from the components.

    What no component has a say in (locked patterns, parts too long for anything) is the
    difference between the whole and the components, and counts in both value and bound.
    """
    levels: list[Level] = []
    proven = True
    for name, rank, value in measure(problem, patterns, missing):
        inside = below = 0
        for component, answer in zip(apart.components, answers, strict=True):
            own = ranks(component)
            if rank is not None and rank not in own:
                continue
            place = own.index(rank) if rank is not None else len(own) + LEVELS.index(name) - 1
            inside += answer.levels[place].value
            below += answer.levels[place].bound
        proven = proven and inside == below
        levels.append(
            Level(name=name, rank=rank, value=value, bound=value - inside + below, proven=proven)
        )
        if name == until and (rank is None or rank == max(part.rank for part in problem.parts)):
            break
    return tuple(levels)


def _together(
    problem: CuttingProblem, apart: Split, plans: Sequence[Plan]
) -> tuple[tuple[Pattern, ...], tuple[tuple[str, int], ...]]:
    """Name bins and parts again, and put locked patterns back."""
    length = {part.key: part.length_mm for part in problem.parts}
    uses: Counter[tuple[str, tuple[str, ...]]] = Counter()
    begun = {key: pattern.count for key, pattern in apart.begun.items()}
    missing = Counter({key: count for key, _, count in apart.hopeless})
    for component, plan in zip(apart.components, plans, strict=True):
        parts = [
            deque(key for key, count in item.keys for _ in range(count)) for item in component.items
        ]
        bins = [dict(kind.keys) for kind in component.kinds]
        for (kind, cut), count in plan.items():
            for _ in range(count):
                key = next(key for key, there in bins[kind].items() if there)
                bins[kind][key] -= 1
                keys = [parts[item].popleft() for item, copies in cut for _ in range(copies)]
                if key in begun:
                    begun[key] -= 1
                    keys += apart.begun[key].part_keys
                    key = apart.begun[key].bin_key
                uses[key, tuple(sorted(keys, key=lambda key: (-length[key], key)))] += 1
        for rest in parts:
            missing.update(rest)
    for key, count in begun.items():
        if count:
            uses[apart.begun[key].bin_key, apart.begun[key].part_keys] += count
    order = {bin_.key: place for place, bin_ in enumerate(problem.bins)}
    return (
        tuple(
            Pattern(bin_key, part_keys, count)
            for (bin_key, part_keys), count in sorted(
                uses.items(), key=lambda entry: (order[entry[0][0]], entry[0][1])
            )
        ),
        tuple((part.key, missing[part.key]) for part in problem.parts if missing[part.key]),
    )


def _carried_over(problem: CuttingProblem, apart: Split, start: Sequence[Pattern]) -> list[Plan]:
    """What of an earlier plan each component can still do."""
    plans = []
    for component in apart.components:
        kind_of = {key: n for n, kind in enumerate(component.kinds) for key, _ in kind.keys}
        item_of = {key: n for n, item in enumerate(component.items) for key, _ in item.keys}
        supply = Counter({key: count for kind in component.kinds for key, count in kind.keys})
        demand = Counter({n: item.demand for n, item in enumerate(component.items)})
        plan: Plan = {}
        for pattern in start:
            kind = kind_of.get(pattern.bin_key)
            if kind is None:
                continue
            sort = component.sorts[component.kinds[kind].sort]
            for _ in range(pattern.count):
                room, counts = component.kinds[kind].room, Counter[int]()
                for key in pattern.part_keys:
                    item = item_of.get(key)
                    if item is not None and item in sort.takes and demand[item] > counts[item]:
                        size = component.items[item].size
                        if size <= room:
                            room -= size
                            counts[item] += 1
                if counts and supply[pattern.bin_key] > 0:
                    supply[pattern.bin_key] -= 1
                    demand.subtract(counts)
                    use = kind, tuple(sorted(counts.items()))
                    plan[use] = plan.get(use, 0) + 1
        plans.append(plan)
    return plans
