"""Job-shop instances with published optima, through the planner's own core.

Source: `data/job_shop.json`, which names its package, licence and the papers: ft06
(Fisher and Thompson 1963) and la01 to la08 (Lawrence 1984). The optima are proven in the
literature and given as lower and upper bound in the package.

A machine is a resource for one; an operation is a task in one piece; a job is a chain of
finish-to-start links; a time unit is a quarter-hour; everybody works round the clock.
"""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from apps.planning.problem import Activity, Link, Problem, Ref, Resource
from apps.planning.solver import solve
from tests.checker import violations

DATA = json.loads((Path(__file__).parent / "data" / "job_shop.json").read_text(encoding="utf-8"))
INSTANCES = {instance["name"]: instance for instance in DATA["instances"]}


def problem_of(instance):
    jobs = instance["operations"]
    activities, links = [], []
    for j, job in enumerate(jobs):
        for k, (machine, duration) in enumerate(job):
            key = f"{j}.{k}"
            activities.append(
                Activity(
                    key,
                    Ref("operation", 100 * j + k, key),
                    effort=duration,
                    uses=(f"machine:{machine}",),
                    splittable=False,
                )
            )
            if k:
                links.append(Link(f"{j}.{k - 1}", key))
    machines = sorted({machine for job in jobs for machine, _ in job})
    return Problem(
        origin=datetime(2026, 6, 1, tzinfo=UTC),
        horizon=sum(duration for job in jobs for _, duration in job),
        activities=tuple(activities),
        links=tuple(links),
        resources=tuple(Resource(f"machine:{m}", f"Machine {m}", "tool") for m in machines),
    )


@pytest.mark.parametrize("name", INSTANCES)
def test_the_published_optimum_is_found_and_proven(name):
    problem = problem_of(INSTANCES[name])

    solution = solve(problem, deterministic_seconds=10.0)

    finish = solution.level("finish")
    assert (finish.value, finish.bound) == (INSTANCES[name]["optimum"],) * 2
    assert violations(problem, solution) == []
