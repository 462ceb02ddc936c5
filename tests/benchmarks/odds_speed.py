"""How soon the odds of a plan are there: 2,000 sampled runs of seeded random houses.

Run from the repository's root: `python -m tests.benchmarks.odds_speed [seeds]`.
One JSON line per house, of the two sizes of `plan_speed`: activities, stints, seconds by the clock
and by the processor for drawing the durations and following the plan 2,000 times, and whether
without spread every stint is where the plan has it. The plan comes from the generator alone.
"""

from __future__ import annotations

import json
import sys
import time

import numpy as np

from apps.planning import pert
from apps.planning.generator import generate
from apps.planning.problem import Problem, Solution
from apps.planning.sampler import run
from tests.benchmarks.plan_speed import SIZES, house

RUNS = 2000


def sampled(problem: Problem) -> dict[str, np.ndarray]:
    """Every movable activity between half and twice its planned length."""
    return {
        a.key: np.rint(
            pert.draw(
                pert.Estimate(a.effort * 7.5, a.effort * 15, a.effort * 30),
                RUNS,
                pert.luck(1, a.key),
            )
        )
        for a in problem.activities
        if a.fixed is None
    }


def is_the_plan(problem: Problem, plan: Solution) -> bool:
    runs = run(problem, plan, {}, 1)
    return all((a[0], b[0]) == (s.start * 15, s.end * 15) for s, a, b in runs.stints)


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    for size, shape in SIZES.items():
        for seed in range(1, seeds + 1):
            problem = house(seed, **shape)
            plan = generate(problem, [a.key for a in problem.activities if a.fixed is None])
            exact = is_the_plan(problem, plan)
            wall, processor = time.perf_counter(), time.process_time()
            run(problem, plan, sampled(problem), RUNS)
            print(
                json.dumps(
                    {
                        "size": size,
                        "seed": seed,
                        "activities": len(problem.activities),
                        "stints": len(plan.stints),
                        "exact": exact,
                        "seconds": round(time.perf_counter() - wall, 3),
                        "processor_seconds": round(time.process_time() - processor, 3),
                    }
                ),
                flush=True,
            )


if __name__ == "__main__":
    main()
