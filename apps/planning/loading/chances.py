"""The odds of a plan, from the house's estimates and the crew's record."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from apps.planning import pert
from apps.planning.clock import Clock, say_date
from apps.planning.history import Pace
from apps.planning.loading.history import house_paces, pace_dict
from apps.planning.loading.house import OPEN_TASKS, House, ref
from apps.planning.loading.question import Question
from apps.planning.odds import Asked, Odds, odds
from apps.planning.problem import QUARTER_MINUTES, Ref, Solution
from apps.planning.sampler import Runs, run
from apps.trades.models import Visit
from apps.work.models import Task, Trade

if TYPE_CHECKING:
    from apps.planning.run_hours import Minutes

RUNS = 2000
# For a plan that has to be there in a moment.
QUICK_RUNS = 500
SEED = 1

log = logging.getLogger(__name__)


def plan_odds(
    question: Question, solution: Solution, *, quick: bool = False
) -> dict[str, Any] | None:
    """The odds of a solved question, as the plan keeps them; None where they cannot be told.

    A plan without odds is worth more than no plan: why is in the log.
    """
    house, count = question.house, QUICK_RUNS if quick else RUNS
    paces = house_paces(house.record)
    try:
        minutes = sampled_minutes(question, paces, count)
        runs = run(question.problem, solution, minutes, count)
    except ValueError:
        log.exception("no odds for the plan of house %s", house.record.pk)
        return None
    clock = house.clock
    found = {
        "visits": [odds(asked) for asked in visits(question, runs)],
        "inspections": [odds(asked) for asked in inspections(house, runs)],
        "packages": [odds(asked) for asked in packages(question, runs)],
    }
    whole = finish(question, runs)
    return {
        "runs": count,
        **{name: [as_dict(row, clock) for row in rows] for name, rows in found.items()},
        "finish": None if whole is None else as_dict(odds(whole), clock),
        "pace": [pace_dict(pace) for pace in paces.values()],
        "corrected": list(corrected(house, paces)),
    }


def sampled_minutes(question: Question, paces: dict[str, Pace], count: int) -> dict[str, Minutes]:
    """Sampled minutes of work of each task that stands in the plan for itself.

    Low and high keep their distance from the likely minutes in proportion, also where part of
    a task is done. How the crew is at one kind of work is drawn once a run, for all its tasks.
    """
    house = question.house
    of_kind = {
        kind: np.exp(
            np.log(pace.factor)
            + pace.spread * pert.luck(SEED, f"pace:{kind}").standard_normal(count)
        )
        for kind, pace in paces.items()
    }
    minutes: dict[str, Minutes] = {}
    for activity in question.problem.activities:
        task = task_of(house, activity.key)
        if task is None:
            continue
        estimate = pert.Estimate(task.low_minutes, task.likely_minutes, task.high_minutes)
        kind = task.package.kind
        factor = of_kind.get(kind) if task.trade_id is None else None
        if estimate.low == estimate.high and factor is None:
            continue
        times = pert.draw(estimate, count, pert.luck(SEED, activity.key)) / estimate.likely
        if factor is not None:
            times = times * factor
        worked = np.rint(activity.effort * QUARTER_MINUTES * times)
        minutes[activity.key] = np.maximum(worked, 1).astype(np.int64)
    return minutes


def task_of(house: House, key: str) -> Task | None:
    kind, _, pk = key.partition(":")
    return house.tasks.get(int(pk)) if kind == "task" else None


def visits(question: Question, runs: Runs) -> Iterable[Asked]:
    """Each visit that is still to come: whether it finds what it needs."""
    house = question.house
    opened = {link.after for link in question.problem.links if link.code == "boards_held"}
    for visit in house.visits.values():
        key = f"visit:{visit.pk}"
        start, _ = runs.planned.get(key, (-1, -1))
        if start >= house.now:
            ready = "the floor is open" if key in opened else "everything is ready"
            clause = f"{ready} for {who(visit)}"
            yield Asked(ref(visit), clause, start, runs.ready.get(key), house.clock.say)


def who(visit: Visit) -> str:
    """ "the plumber", or by name where the craft says nothing."""
    trade = visit.trade
    if trade.craft == Trade.Craft.OTHER:
        return str(trade)
    return f"the {trade.craft.replace('_', ' ')}"


def inspections(house: House, runs: Runs) -> Iterable[Asked]:
    """Each hold point that is still to be seen: whether there is something to see by then."""
    for row in house.inspections.values():
        key = f"inspection:{row.pk}"
        start, _ = runs.planned.get(key, (-1, -1))
        if start >= house.now:
            clause = f"all is ready to be seen for {row}"
            yield Asked(ref(row), clause, start, runs.ready.get(key), house.clock.say)


def packages(question: Question, runs: Runs) -> Iterable[Asked]:
    """Each package with work still to do: whether it is done by the end of its planned last day."""
    house = question.house
    keys: dict[int, set[str]] = defaultdict(set)
    refs: dict[int, Ref] = {}
    for task in house.tasks.values():
        if task.status in OPEN_TASKS:
            keys[task.package_id].add(question.aliases[f"task:{task.pk}"])
            refs[task.package_id] = ref(task.package)
    for pk, own in sorted(keys.items()):
        yield done(house.clock, refs[pk], f"{refs[pk].name} is done", own, runs)


def finish(question: Question, runs: Runs) -> Asked | None:
    """All that has a place in the plan and is not agreed for a time."""
    own = {a.key for a in question.problem.activities if a.fixed is None} & set(runs.planned)
    if not own:
        return None
    about = ref(question.house.record)
    return done(question.house.clock, about, "all the planned work is done", own, runs)


def done(clock: Clock, about: Ref, clause: str, keys: set[str], runs: Runs) -> Asked:
    """Whether several activities are all done by the end of the day on which the plan has it."""

    def say_day(quarter: int) -> str:
        return say_date(clock.on(quarter - 1))

    if not keys <= set(runs.planned):
        return Asked(about, clause, None, None, say_day)
    last_day = clock.on(max(runs.planned[key][1] for key in keys) - 1)
    return Asked(
        about,
        clause,
        clock.midnight(last_day + timedelta(days=1)),
        np.maximum.reduce([runs.ends[key] for key in sorted(keys)]),
        say_day,
        preposition="by the end of",
    )


def corrected(house: House, paces: dict[str, Pace]) -> Iterable[dict[str, Any]]:
    """What is likely left of the crew's open tasks, as it stands and by the crew's own pace."""
    for task in house.tasks.values():
        pace = paces.get(task.package.kind)
        if task.status in OPEN_TASKS and task.trade_id is None and pace is not None:
            left = house.minutes_left[task.pk]
            yield {
                "about": asdict(ref(task)),
                "likely_minutes": left,
                "corrected_minutes": round(left * pace.factor),
            }


def as_dict(found: Odds, clock: Clock) -> dict[str, Any]:
    return {
        "about": asdict(found.about),
        "by": instant(found.by, clock),
        "chance": found.chance,
        "words": found.words,
        "by_80": instant(found.by_80, clock),
        "sentence": found.sentence,
    }


def instant(quarter: int | None, clock: Clock) -> str | None:
    return None if quarter is None else clock.at(quarter).isoformat().replace("+00:00", "Z")
