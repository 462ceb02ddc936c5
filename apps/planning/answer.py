"""From a solved question to what a plan keeps: stints with reasons, alerts, what moved."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import asdict
from datetime import datetime
from typing import Any

from apps.floors.models import BoardStay
from apps.planning import holding, holds
from apps.planning.alerts import Planned, plan_alerts
from apps.planning.clock import say
from apps.planning.ground import read_ground
from apps.planning.loading.house import House, ref
from apps.planning.loading.question import Question, stint_key
from apps.planning.models import Plan
from apps.planning.problem import Reason, Ref, Solution, Stint
from apps.planning.standing_alerts import boards_trapped
from apps.work.models import Task

AGREED = Reason("none", "This time is agreed.")


def answer(
    question: Question, solution: Solution, reasons: dict[Stint, Reason], previous: Plan | None
) -> dict[str, Any]:
    """The fields of a ready plan, with `stints` as the rows to create."""
    planned = indexed(question, solution, reasons)
    clock = question.house.clock
    alerts = [
        *plan_alerts(planned),
        *boards_trapped(read_ground(question.house.record), lifting(question.house)),
    ]
    return {
        "stints": [
            {
                f"{stint.activity.partition(':')[0]}_id": int(stint.activity.partition(":")[2]),
                "starts": clock.at(stint.start),
                "ends": clock.at(stint.end),
                "why_not_sooner": asdict(reasons.get(stint, AGREED)),
            }
            for stint in solution.stints
        ],
        "objective": [
            {"level": level.name, "value": level.value * 15, "bound": level.bound * 15}
            for level in solution.levels
        ],
        "proven": solution.proven,
        "gap": solution.gap,
        "unplaced": [
            {
                "about": asdict(planned.refs[row.activity]),
                "code": row.code,
                "sentence": row.sentence,
                "short_minutes": row.short * 15,
                "by": [asdict(by) for by in row.by],
            }
            for row in solution.unplaced
        ],
        "alerts": [alert.as_dict() for alert in alerts],
        "changes": changes(question, solution, previous),
    }


def indexed(question: Question, solution: Solution, reasons: dict[Stint, Reason]) -> Planned:
    """The solution with its board holds."""
    house = question.house
    spans = activity_spans(question, solution)
    tasks = [task for task in house.tasks.values() if task.status in {"to_do", "doing"}]
    needs = [
        *holding.access_needs(house.needs, house.touched, spans, house.clock.zone),
        *holding.work_needs(tasks, house.touched, spans),
    ]
    lifts = [
        (task, spans[f"task:{task.pk}"][1])
        for task in tasks
        if task.floor_action == Task.FloorAction.LIFT and f"task:{task.pk}" in spans
    ]
    since = {
        stay.board_id: stay.since
        for stay in BoardStay.objects.filter(board__in=house.boards, until__isnull=True)
    }
    times = holding.board_times(list(house.boards.values()), since, lifts, house.touched)
    as_of = house.clock.at(house.now)
    return Planned(
        question, solution, reasons, needs, times,
        holds.board_holds([n for n in needs if n.id], times, as_of=as_of, zone=house.clock.zone),
    )  # fmt: skip


def activity_spans(question: Question, solution: Solution) -> dict[str, holding.Span]:
    """Planned start and end of every activity, and of tasks through the visit that does them."""
    clock = question.house.clock
    ends: dict[str, list[Stint]] = defaultdict(list)
    for stint in solution.stints:
        ends[stint.activity].append(stint)
    spans = {
        key: (clock.at(min(s.start for s in own)), clock.at(max(s.end for s in own)))
        for key, own in ends.items()
    }
    return spans | {task: spans[key] for task, key in question.aliases.items() if key in spans}


def lifting(house: House) -> dict[Ref, frozenset[int]]:
    """Boards that each open lifting task, and each need, wants up."""
    tasks = {
        ref(task): house.touched["task", task.pk]
        for task in house.tasks.values()
        if task.floor_action == Task.FloorAction.LIFT
        and task.status in {"to_do", "doing"}
        and ("task", task.pk) in house.touched
    }
    needs = {
        ref(need): house.touched["accessneed", need.pk]
        for need in house.needs
        if need.released_at is None and ("accessneed", need.pk) in house.touched
    }
    return tasks | needs


def changes(question: Question, solution: Solution, previous: Plan | None) -> list[dict[str, Any]]:
    """What starts at another time than in the plan before, and what has come or gone."""
    if previous is None:
        return []
    clock = question.house.clock
    before: dict[str, datetime] = {}
    for row in previous.stints.all():
        before.setdefault(stint_key(row), row.starts)
    after: dict[str, datetime] = {}
    for stint in solution.stints:
        after.setdefault(stint.activity, clock.at(stint.start))
    found = []
    for activity in question.problem.activities:
        was, now = before.get(activity.key), after.get(activity.key)
        if was == now or (was is not None and was < clock.at(question.house.now)):
            continue
        found.append(
            {
                "about": asdict(activity.ref),
                "was": was.isoformat() if was else None,
                "now": now.isoformat() if now else None,
                "sentence": change_sentence(question, activity.ref.name, was, now),
            }
        )
    return found


def change_sentence(
    question: Question, name: str, was: datetime | None, now: datetime | None
) -> str:
    local = question.house.clock.local
    if was is None and now is not None:
        return f"{name} is new: {say(local(now))}."
    if now is None and was is not None:
        return f"{name} was planned {say(local(was))} and has no place now."
    if was is not None and now is not None:
        return f"{name} moves from {say(local(was))} to {say(local(now))}."
    return f"{name} has no place."
