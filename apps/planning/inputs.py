"""What a plan was made from, in few words: kept with it, so that the next can tell what changed.

A dict from a thing ("task:12") to its facts. Each has its `name` and, where it bears on tasks
without being one, `on`: the activities it bears on. Done and dropped tasks keep only their
status. Instants are ISO 8601 in UTC, dates ISO 8601.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from apps.planning.loading.hours import trades_of
from apps.planning.loading.house import OPEN_TASKS, House, blocked_tasks, stands_in_plan
from apps.planning.loading.question import Question
from apps.planning.problem import Ref
from apps.work.models import Task

Facts = dict[str, Any]
Inputs = dict[str, Facts]


def inputs_of(question: Question) -> Inputs:
    """The facts of every row that the plan depends on."""
    house, aliases = question.house, question.aliases
    found: Inputs = {}
    for task in house.tasks.values():
        found[f"task:{task.pk}"] = facts_of_task(house, task)
        if (by_visit := aliases.get(f"task:{task.pk}", "task:")).startswith("visit:"):
            found[f"task:{task.pk}"]["on"] = [by_visit]
    for kind, rows, facts in TABLE:
        for row in rows(house):
            told = facts(house, row)
            # A link's own name would ask the database for its tasks.
            found[f"{kind}:{row.pk}"] = told if "name" in told else {"name": str(row), **told}
    for wet in house.wet:
        facts_of_piece = found.setdefault(
            f"piece:{wet.piece.pk}", {"name": str(wet.piece), "dry": iso(wet.dry_on), "on": []}
        )
        facts_of_piece["on"].append(f"task:{wet.task_id}")
    for facts_found in found.values():
        if "on" in facts_found:
            facts_found["on"] = sorted({aliases.get(key, key) for key in facts_found["on"]})
    return found


def ref_of(key: str, facts: Facts) -> Ref:
    kind, _, pk = key.partition(":")
    return Ref(kind, int(pk), facts["name"])


def iso(value: date | None) -> str | None:
    return None if value is None else value.isoformat()


def facts_of_task(house: House, task: Task) -> Facts:
    if task.status not in OPEN_TASKS:
        return {"name": str(task), "status": task.status}
    return {
        "name": str(task),
        "status": task.status,
        "minutes": house.minutes_left[task.pk],
        "around": task.set_up_minutes + task.clear_up_minutes,
        "people": task.people,
        "splittable": task.splittable,
        "shortest": task.shortest_stint_minutes,
        "loud": task.loud,
        "outdoors": task.outdoors,
        "tools": sorted(tool.pk for tool in task.tools.all()),
        "trade": task.trade_id,
        "earliest": iso(task.earliest_start),
        "due": iso(task.due),
        "weight": task.due_weight,
        "place": [task.floor_action, *sorted(house.touched.get(("task", task.pk), ()))],
    }


def facts_of_visit(house: House, row: Any) -> Facts:
    stands = stands_in_plan(house, row)
    return {
        "state": row.state, "starts": iso(row.starts), "ends": iso(row.ends),
        "window": [iso(row.window_from), iso(row.window_to)], "minutes": row.minutes,
        "on": [f"visit:{row.pk}", *(f"task:{task.pk}" for task in row.tasks.all())]
        if stands else [f"visit:{row.pk}"],
    }  # fmt: skip


def facts_of_inspection(house: House, row: Any) -> Facts:
    return {
        "state": row.state, "starts": iso(row.booked_starts), "ends": iso(row.booked_ends),
        "notified": iso(row.notified_at), "minutes": row.minutes,
        "notice": [row.notice_working_days, row.visiting_days, iso_time(row.visiting_from),
                   iso_time(row.visiting_to)],
        "on": [f"inspection:{row.pk}", *(f"task:{pk}" for pk in blocked_tasks(house, row))],
    }  # fmt: skip


def facts_of_link(house: House, row: Any) -> Facts:
    before, after = house.tasks[row.before_id], house.tasks[row.after_id]
    return {
        "name": f"{before} → {after}", "kind": row.kind, "clock": row.lag_clock,
        "lags": [row.min_lag_minutes, row.max_lag_minutes],
        "on": [f"task:{before.pk}", f"task:{after.pk}"],
    }  # fmt: skip


def facts_of_supply(_: House, row: Any) -> Facts:
    return {
        "expected": iso(row.expected_on), "at": iso_time(row.expected_at),
        "on": [f"task:{task.pk}" for task in row.tasks.all()],
    }  # fmt: skip


def facts_of_condition(_: House, row: Any) -> Facts:
    return {"due": iso(row.due_on), "on": [f"task:{task.pk}" for task in row.blocks.all()]}


def facts_of_need(house: House, row: Any) -> Facts:
    tied = (("visit", row.visit_id), ("task", row.task_id), ("inspection", row.inspection_id))
    return {
        "until": [row.until, iso(row.until_date)],
        "boards": sorted(house.touched.get(("accessneed", row.pk), ())),
        "on": [f"{kind}:{pk}" for kind, pk in tied if pk is not None],
    }


def facts_of_person(house: House, row: Any) -> Facts:
    """The week and the dated hours, with what is only supposed."""
    days: dict[str, list[list[str]]] = {}
    for other in row.exceptions.all():
        hours = days.setdefault(other.date.isoformat(), [])
        if other.starts is not None:
            hours.append([iso_time(other.starts), iso_time(other.ends)])
    facts: Facts = {
        "role": row.role,
        "week": [
            [one.weekday, iso_time(one.starts), iso_time(one.ends)]
            for one in row.working_times.all()
        ],
        "days": {on: sorted(hours) for on, hours in sorted(days.items())},
    }
    supposed = house.supposed_hours.get(row.pk)
    if supposed is not None:
        facts["days"] |= {on.isoformat(): [] for on in supposed.days_off}
        facts["more"] = [
            [on.isoformat(), iso_time(starts), iso_time(ends)] for on, starts, ends in supposed.more
        ]
    return facts


def facts_of_trade(_: House, row: Any) -> Facts:
    return {
        "days": row.days, "hours": [iso_time(row.from_time), iso_time(row.to_time)],
        "notice": row.notice_days,
    }  # fmt: skip


def facts_of_house(_: House, row: Any) -> Facts:
    return {
        "loud": row.loud_work_hours, "outdoor": row.outdoor_work_hours,
        "holidays": row.work_on_bank_holidays,
    }  # fmt: skip


def facts_of_floor(house: House, row: Any) -> Facts:
    return {
        "open": sorted(
            board.pk
            for board in house.boards.values()
            if board.floor_id == row.pk and board.state in {"up", "missing"}
        )
    }


def iso_time(value: Any) -> str:
    return f"{value:%H:%M}"


TABLE: tuple[
    tuple[str, Callable[[House], Iterable[Any]], Callable[[House, Any], Facts]], ...
] = (
    ("visit", lambda house: house.visits.values(), facts_of_visit),
    ("inspection", lambda house: house.inspections.values(), facts_of_inspection),
    ("link", lambda house: house.links, facts_of_link),
    ("supply", lambda house: house.supplies, facts_of_supply),
    ("condition", lambda house: house.conditions, facts_of_condition),
    (
        "accessneed",
        lambda house: (need for need in house.needs if need.released_at is None),
        facts_of_need,
    ),
    ("tool", lambda house: house.tools, lambda _, row: {"quantity": row.quantity}),
    ("person", lambda house: house.people, facts_of_person),
    ("trade", trades_of, facts_of_trade),
    ("property", lambda house: (house.record,), facts_of_house),
    ("floor", lambda house: house.floors.values(), facts_of_floor),
)  # fmt: skip
