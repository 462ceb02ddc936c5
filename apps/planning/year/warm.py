"""What a run needs before its clock starts: everything compiled and loaded."""

from __future__ import annotations

import resource
from collections.abc import Callable
from datetime import UTC, datetime

from apps.planning import compiled
from apps.planning.problem import Activity, Link, Problem, Ref, Resource
from apps.planning.year.answer import YearAnswer
from apps.planning.year.engine import solve_year


def prepare() -> Callable[..., YearAnswer]:
    """`solve_year`, with nothing left to compile or import in it."""
    from ortools.sat.python import cp_model  # noqa: F401, PLC0415 (half a second to load)

    compiled.warm()
    plan_something()
    return solve_year


def plan_something() -> None:
    """Plan a tiny problem in which every kernel has its turn: all is compiled, or loaded."""
    one, two, agreed = (
        Activity(key, Ref("task", number, key), 1, ("crew",), fixed=fixed)
        for number, key, fixed in ((1, "one", None), (2, "two", None), (3, "agreed", (6, 7)))
    )
    tiny = Problem(
        datetime(2024, 1, 1, tzinfo=UTC),
        8,
        (one, two, agreed),
        links=(Link("one", "two"), Link("two", "agreed")),
        resources=(Resource("crew", "crew", "crew"),),
    )
    solve_year(tiny, seconds=0.2, workers=1)


def peak_mb() -> int:
    """The most memory this process has had, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
