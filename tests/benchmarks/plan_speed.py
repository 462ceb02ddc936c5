"""How soon and how well a house is planned: seeded random houses of three sizes.

Run from the repository's root: `python -m tests.benchmarks.plan_speed [seeds]`.
One JSON line per house: seconds to the first plan, seconds in all by the clock and by the
processor, the levels as `[value, bound]`, and the gap of the first level that is not proven.
`--textbook` follows each with a line for the textbook model of the same house, given 5 or 10
seconds of wall clock by its size; its gap is that of its weighted sum.
`--again` follows each with a line for planning it again from its plan after two coming tasks
have come to take twice as long, with the share of all stints that moved.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
from dataclasses import replace
from datetime import UTC, datetime

from apps.planning.horizons import plan
from apps.planning.problem import (
    Activity,
    Calendar,
    Interval,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
    Solution,
)
from tests.benchmarks import textbook

DAY = 96
ORIGIN = datetime(2026, 1, 5, tzinfo=UTC)  # a Monday
# Quarter-hours of the day by weekday, Monday first.
CREW = {0: (74, 84), 1: (74, 84), 2: (74, 84), 3: (74, 84), 5: (36, 68), 6: (40, 52)}
HELPER = {6: (40, 52)}
LOUD = dict.fromkeys(range(5), (32, 78)) | {5: (40, 68)}
TRADE = dict.fromkeys(range(5), (32, 66))


def weekly(hours: dict[int, Interval], days: int) -> tuple[Interval, ...]:
    return tuple(
        (day * DAY + hours[day % 7][0], day * DAY + hours[day % 7][1])
        for day in range(days)
        if day % 7 in hours
    )


def house(seed: int, *, tasks: int, weeks: int, visits: int, inspections: int) -> Problem:
    """A house whose crew work fills about nine tenths of the working time.

    Packages of some eight tasks in chains with side branches; one link in six dries for half
    a day to three days; one task in eight is loud, one in twelve needs the helper, one in six
    a tool; one in ten has a due date. Half the visits are agreed for a date, half are placed.
    """
    chance = random.Random(seed)
    days = weeks * 7
    horizon = (days + 21) * DAY
    calendars = (
        Calendar("crew", "no_working_time", "Mar works evenings.", weekly(CREW, days + 21)),
        Calendar("helper", "helper_away", "Sam helps on Sundays only.", weekly(HELPER, days + 21)),
        Calendar("loud", "quiet_hours", "Loud work ends at 19:30.", weekly(LOUD, days + 21)),
        Calendar("trade", "visit", "The trades come on weekdays.", weekly(TRADE, days + 21)),
    )
    resources = (
        Resource("crew", "Mar", "crew"),
        Resource("saw", "the saw", "tool"),
        Resource("props", "the props", "tool", 2),
    )
    capacity = sum(end - start for start, end in calendars[0].windows if end <= days * DAY)
    weights = [chance.choice((2, 3, 4, 4, 6, 8, 8, 12, 16)) for _ in range(tasks)]
    scale = 0.9 * capacity / sum(weights)
    activities: list[Activity] = []
    links: list[Link] = []
    spans: list[OpenSpan] = []
    package: list[int] = []
    for n, weight in enumerate(weights):
        if len(package) >= 8:
            if len(package) > 4 and chance.random() < 0.6:
                others = [m for m in range(n) if m not in package]
                if others:
                    spans.append(
                        OpenSpan(f"t{package[1]}", f"t{package[5]}", (f"t{chance.choice(others)}",))
                    )
            package = []
        helper = chance.random() < 1 / 12
        loud = not helper and chance.random() < 1 / 8
        effort = max(1, round(weight * scale))
        whole = chance.random() < 0.3
        longest = 12 if helper or not loud else 4
        longest = longest if helper or loud else 32
        hours = ("crew", "helper") if helper else ("crew", "loud") if loud else ("crew",)
        tool = chance.random()
        activities.append(
            Activity(
                f"t{n}",
                Ref("task", n, f"Task {n}"),
                effort,
                uses=("crew", "saw")
                if tool < 0.1
                else ("crew", "props")
                if tool < 0.17
                else ("crew",),
                calendars=hours,
                splittable=not (whole and effort <= min(longest, 10)),
                shortest_stint=chance.choice((2, 2, 4)),
                set_up=1 if loud else 0,
                releases=(Release(chance.randrange(days) * DAY // 2, "supply", "The lime comes."),)
                if chance.random() < 0.1
                else (),
                due=chance.randrange(days // 3, days) * DAY if chance.random() < 0.1 else None,
            )
        )
        if package:
            before = package[-1] if chance.random() < 0.75 else chance.choice(package)
            drying = chance.random() < 1 / 6
            lag = chance.randrange(48, 288) if drying else 0
            most = lag + 6 * DAY if drying and chance.random() < 0.2 else None
            links.append(
                Link(
                    f"t{before}",
                    f"t{n}",
                    "FS",
                    lag,
                    most,
                    code="drying" if drying else "predecessor",
                )
            )
        package.append(n)
    _outsiders(chance, tasks, days, visits, inspections, activities, links)
    return Problem(
        ORIGIN, horizon, tuple(activities), tuple(links), calendars, resources, tuple(spans), "crew"
    )


def _outsiders(
    chance: random.Random,
    tasks: int,
    days: int,
    visits: int,
    inspections: int,
    activities: list[Activity],
    links: list[Link],
) -> None:
    """Visits and inspections, each between an earlier task and a later one."""
    spread = days // (visits + 1)
    for v in range(visits):
        agreed = v % 2 == 0
        day = min(days - 1, (v + 1) * spread)
        day -= max(0, day % 7 - 4)
        key = f"v{v}"
        starts = day * DAY + 36
        activities.append(
            Activity(
                key,
                Ref("visit", v, f"Visit {v}"),
                16,
                calendars=("trade",),
                splittable=False,
                fixed=(starts, starts + 16) if agreed else None,
                releases=() if agreed else (Release(max(0, day - 4) * DAY, "visit", "Notice."),),
            )
        )
        reach = max(3, int(tasks * (day / days) * 0.6))
        before = chance.randrange(reach // 2, reach)
        links.append(Link(f"t{before}", key, code="predecessor"))
        after = chance.randrange(min(tasks - 1, before + tasks // 4), tasks)
        links.append(Link(key, f"t{after}", code="visit"))
    for v in range(inspections):
        before = chance.randrange(tasks // 3)
        key = f"i{v}"
        activities.append(
            Activity(
                key,
                Ref("inspection", v, f"Inspection {v}"),
                4,
                calendars=("trade",),
                splittable=False,
            )
        )
        links.append(Link(f"t{before}", key, min_lag=2 * DAY, code="notice"))
        after = chance.randrange(before + tasks // 3, tasks)
        links.append(Link(key, f"t{after}", code="sign_off"))


SIZES = {
    "four weeks": {"tasks": 60, "weeks": 4, "visits": 5, "inspections": 3},
    "three months": {"tasks": 150, "weeks": 13, "visits": 10, "inspections": 5},
    "a year": {"tasks": 400, "weeks": 52, "visits": 30, "inspections": 10},
}
SECONDS = {"four weeks": 4, "three months": 8, "a year": 3}


def measure(name: str, seed: int, seconds: float, workers: int) -> dict[str, object]:
    return timed(name, seed, house(seed, **SIZES[name]), seconds, workers)[0]


def timed(
    name: str, seed: int, problem: Problem, seconds: float, workers: int
) -> tuple[dict[str, object], Solution]:
    begun, worked = time.perf_counter(), time.process_time()
    first: list[tuple[float, float, Solution]] = []
    solution = plan(
        problem,
        deterministic_seconds=seconds,
        on_first=lambda made: first.append(
            (time.perf_counter() - begun, time.process_time() - worked, made)
        ),
        workers=workers,
    )
    line = {
        "house": name,
        "seed": seed,
        "first_plan_seconds": round(first[0][0], 3),
        "first_plan_processor_seconds": round(first[0][1], 3),
        "first_levels": [level.value for level in first[0][2].levels],
        "seconds": round(time.perf_counter() - begun, 2),
        "processor_seconds": round(time.process_time() - worked, 2),
        "levels": [[level.value, level.bound] for level in solution.levels],
        "gap": round(solution.gap, 4),
        "proven": solution.proven,
    }
    return line, solution


def measure_again(name: str, seed: int, seconds: float, workers: int) -> dict[str, object]:
    """The same house once more, with its plan as the plan before and two coming tasks longer."""
    problem = house(seed, **SIZES[name])
    _, before = timed(name, seed, problem, seconds, workers)
    fixed = {a.key for a in problem.activities if a.fixed is not None}
    coming = [s for s in before.stints if s.activity not in fixed and s.start > DAY]
    longer = set(dict.fromkeys(s.activity for s in coming)) & {
        s.activity for s in sorted(coming, key=lambda s: s.start)[:3]
    }
    changed = replace(
        problem,
        activities=tuple(
            replace(a, effort=2 * a.effort, splittable=True) if a.key in longer else a
            for a in problem.activities
        ),
        previous=tuple(s for s in before.stints if s.activity not in fixed),
        settled_until=DAY,
    )
    line, after = timed(name, seed, changed, seconds, workers)
    was = {(s.activity, s.start) for s in before.stints}
    kept = sum((s.activity, s.start) in was for s in after.stints)
    moved = 1 - kept / len(after.stints)
    return line | {"again": sorted(longer), "share_of_stints_moved": round(moved, 3)}


def measure_textbook(name: str, seed: int, seconds: float, workers: int) -> dict[str, object]:
    begun = time.perf_counter()
    plan = textbook.solve(house(seed, **SIZES[name]), seconds=seconds, workers=workers)
    return {
        "house": name,
        "seed": seed,
        "model": "textbook",
        "first_plan_seconds": plan.first_plan_seconds and round(plan.first_plan_seconds, 3),
        "seconds": round(time.perf_counter() - begun, 2),
        "levels": plan.levels,
        "gap": None if plan.gap is None else round(plan.gap, 4),
        "proven": plan.gap == 0,
    }


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--size", choices=[*SIZES, "all"], default="all")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=None)
    parser.add_argument("--textbook", action="store_true", help="measure the textbook model too")
    parser.add_argument("seeds", nargs="*", type=int, default=[1, 2, 3])
    parser.add_argument("--again", action="store_true", help="plan again after a change")
    asked = parser.parse_args()
    for name in SIZES if asked.size == "all" else [asked.size]:
        for seed in asked.seeds:
            seconds = asked.seconds or SECONDS[name]
            lines = [measure(name, seed, seconds, asked.workers)]
            if asked.again:
                lines.append(measure_again(name, seed, seconds, asked.workers))
            if asked.textbook:
                # As long as the planner is meant to take for a house of this size.
                limit = 5 if name == "four weeks" else 10
                lines.append(measure_textbook(name, seed, limit, asked.workers))
            for line in lines:
                sys.stdout.write(json.dumps(line) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
