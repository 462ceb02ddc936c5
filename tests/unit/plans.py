"""Small problems for the planner's tests: ordinary days, ordinary tasks.

A day has 96 quarter-hours. The ordinary evening is 18:30 to 21:00, quarters 74 to 84.
"""

from __future__ import annotations

from datetime import UTC, datetime

from apps.planning.problem import (
    Activity,
    Calendar,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
    Solution,
)
from apps.planning.solver import solve

DAY = 96
EVENING = (74, 84)


def evenings(count: int, first: int = 0) -> tuple[tuple[int, int], ...]:
    """So many evenings in a row, 18:30 to 21:00."""
    return tuple((day * DAY + 74, day * DAY + 84) for day in range(first, first + count))


def calendar(key: str, *windows: tuple[int, int], code: str = "no_working_time") -> Calendar:
    return Calendar(key, code, f"These are the hours of {key}.", windows)


def task(name: str, effort: int, **changes) -> Activity:
    """A crew task in no calendar at all; splittable into stints of half an hour."""
    given = {"uses": ("crew",), **changes}
    return Activity(f"task:{name}", Ref("task", ord(name[0]), name), effort, **given)


def visit(name: str, starts: int, ends: int, **changes) -> Activity:
    """A visit agreed for a time; the crew need not be there."""
    ref = Ref("visit", ord(name[0]), name)
    return Activity(f"visit:{name}", ref, ends - starts, fixed=(starts, ends), **changes)


def link(before: Activity, after: Activity, kind: str = "FS", lag: int = 0, **changes) -> Link:
    return Link(before.key, after.key, kind, lag, **changes)


def span(opens: Activity | None, closes: Activity | None, *excludes: Activity) -> OpenSpan:
    """Boards up from the start of one task to the end of another."""
    return OpenSpan(
        opens and opens.key, closes and closes.key, tuple(each.key for each in excludes)
    )


def release(at: int, code: str = "supply", sentence: str = "The lime comes late.") -> Release:
    return Release(at, code, sentence)


def problem(*activities: Activity, **changes) -> Problem:
    """A crew of one and a saw, ten days, no hours unless given."""
    given = {
        "horizon": 10 * DAY,
        "resources": (Resource("crew", "Mar", "crew"), Resource("saw", "The saw", "tool")),
        **changes,
    }
    for name in ("links", "calendars", "open_spans", "previous"):
        if name in given:
            given[name] = tuple(given[name])
    return Problem(origin=datetime(2026, 1, 5, tzinfo=UTC), activities=activities, **given)


def plan(asked: Problem, seconds: float = 0.5) -> Solution:
    return solve(asked, deterministic_seconds=seconds)


def stints(solution: Solution, activity: Activity) -> list[tuple[int, int]]:
    """Where an activity lies in a plan."""
    return [(s.start, s.end) for s in solution.stints if s.activity == activity.key]


def values(solution: Solution) -> dict[str, int]:
    return {level.name: level.value for level in solution.levels}


def say(quarter: int) -> str:
    """Words for a quarter-hour: day of the plan and time, e.g. `day 2 18:30`."""
    day, rest = divmod(quarter, DAY)
    return f"day {day + 1} {rest // 4:02}:{rest % 4 * 15:02}"
