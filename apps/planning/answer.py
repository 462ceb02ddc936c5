"""From a solved question to what a plan keeps: stints with reasons, alerts, what moved."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import asdict
from typing import Any

from apps.floors.models import BoardStay
from apps.planning import holding, holds
from apps.planning.alerts import Planned, plan_alerts
from apps.planning.changed import against_previous
from apps.planning.ground import read_ground
from apps.planning.horizons import half_days
from apps.planning.loading.house import House, ref
from apps.planning.loading.question import Question
from apps.planning.models import Plan
from apps.planning.problem import (
    QUARTER_MINUTES,
    LevelName,
    Reason,
    Ref,
    Solution,
    Stint,
)
from apps.planning.remedy_runs import (
    contradiction_rows,
    find_help,
    unplaced_help,
    unready_rows,
    with_remedies,
)
from apps.planning.standing_alerts import boards_trapped
from apps.work.models import Task

AGREED = Reason("none", "This time is agreed.")
MINUTES = ("minutes", QUARTER_MINUTES)
UNITS: dict[LevelName, tuple[str, int]] = {
    "unplaced": MINUTES,
    "unready": MINUTES,
    "late": MINUTES,
    "disturbed": ("tasks", 1),
    "finish": MINUTES,
    "open_nights": ("nights", 1),
    "breaks": ("breaks", 1),
    "moved": ("tasks", 1),
}


def answer(
    question: Question, solution: Solution, reasons: dict[Stint, Reason], previous: Plan | None,
    *, seconds: float,
) -> dict[str, Any]:  # fmt: skip
    """The fields of a ready plan, with `stints` as the rows to create.

    Args:
        seconds: the plan's effort, of which remedies may spend their share.
    """
    planned = indexed(question, solution, reasons)
    clock = question.house.clock
    found = find_help(question, solution, seconds=seconds)
    unready = unready_rows(question, solution, found)
    helped = unplaced_help(question, solution, found)
    alerts = [
        *with_remedies(plan_alerts(planned), unready),
        *boards_trapped(read_ground(question.house.record), lifting(question.house)),
    ]
    rows: list[dict[str, Any]] = [
        {
            f"{stint.activity.partition(':')[0]}_id": int(stint.activity.partition(":")[2]),
            "starts": clock.at(stint.start),
            "ends": clock.at(stint.end),
            "why_not_sooner": asdict(reasons.get(exact, AGREED)),
            "firm": stint.firm,
        }
        for exact, stint in zip(
            solution.stints,
            half_days(question.problem, solution.stints, question.house.now),
            strict=True,
        )
    ]
    return {
        "stints": [row for row in rows if row.get("task_id", 1) > 0],
        "supposed_stints": [
            supposed_stint(question.house, row) for row in rows if row.get("task_id", 1) < 0
        ],
        "objective": [
            {
                "level": level.name,
                "value": level.value * UNITS[level.name][1],
                "bound": level.bound * UNITS[level.name][1],
                "unit": UNITS[level.name][0],
            }
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
                **helped[row.activity],
            }
            for row in solution.unplaced
        ],
        "unready": unready,
        "contradictions": contradiction_rows(question, solution, found),
        "alerts": [alert.as_dict() for alert in alerts],
        **against_previous(question, solution, previous),
    }


def supposed_stint(house: House, row: dict[str, Any]) -> dict[str, Any]:
    """A stint of a task that is only supposed: there is no row that it could name."""
    pk = row.pop("task_id")
    times = {name: row[name].isoformat() for name in ("starts", "ends")}
    return {**row, **times, "task": pk, "supposed": house.tasks[pk].title}


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
