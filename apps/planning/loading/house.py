"""One house's rows, read once with a fixed number of queries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from apps.floors.models import Board, Floor
from apps.inspections.models import Condition, Inspection
from apps.inspections.selectors import Missing, missing_evidence, open_conditions
from apps.planning.clock import Clock
from apps.planning.ground import touched_by
from apps.planning.models import Person
from apps.planning.problem import Ref
from apps.property.bank_holidays import bank_holidays
from apps.property.models import Property
from apps.timber.wet import WetTimber, wet_timber
from apps.trades.models import AccessNeed, Visit
from apps.work.models import Link, Supply, Task, Tool
from apps.work.selectors import remaining_minutes

OPEN_TASKS = (Task.Status.TO_DO, Task.Status.DOING)
OPEN_VISITS = (Visit.State.WANTED, Visit.State.ASKED, Visit.State.AGREED)
SIGNED_OFF = (Inspection.State.ACCEPTED, Inspection.State.ACCEPTED_WITH_CONDITIONS)
QUARTERS_A_DAY = 96
# How much longer than the bare hours the axis is, so that drying and visits find room too.
SLACK = 1.5
ROOM_BEHIND_DAYS = 14
LONGEST_AXIS_DAYS = 400
# Notices count working days on both sides of the axis.
NOTICE_REACH = timedelta(days=100)


@dataclass
class SupposedHours:
    """A person's days off and further hours that are only supposed."""

    days_off: set[date] = field(default_factory=set)
    more: list[tuple[date, time, time]] = field(default_factory=list)


@dataclass
class House:
    """One house's rows, read once."""

    record: Property
    clock: Clock
    now: int
    axis_days: int
    days_off: dict[date, str]
    people: list[Person]
    tasks: dict[int, Task]
    links: list[Link]
    visits: dict[int, Visit]
    inspections: dict[int, Inspection]
    conditions: list[Condition]
    missing: list[Missing]
    needs: list[AccessNeed]
    supplies: list[Supply]
    wet: list[WetTimber]
    tools: list[Tool]
    minutes_left: dict[int, int]
    floors: dict[int, Floor]
    boards: dict[int, Board]
    touched: dict[tuple[str, int], frozenset[int]] = field(default_factory=dict)
    supposed_hours: dict[int, SupposedHours] = field(default_factory=dict)

    @property
    def horizon(self) -> int:
        return self.axis_days * QUARTERS_A_DAY


def ref(row: Any) -> Ref:
    """How sentences and answers name a row."""
    return Ref(row._meta.model_name, row.pk, str(row))


def read_house(house: Property, *, as_of: datetime, horizon_days: int) -> House:
    """Everything of one house that a plan can depend on."""
    clock = Clock.starting(as_of, house.timezone)
    people = list(
        Person.objects.filter(property=house)
        .order_by("role", "pk")
        .prefetch_related("working_times", "exceptions")
    )
    tasks = {
        task.pk: task
        for task in Task.objects.filter(package__property=house)
        .select_related("package", "trade", "floor", "room")
        .prefetch_related("tools")
        .order_by("pk")
    }
    minutes_left = remaining_minutes(tasks.values())
    axis_days = axis_length(people, tasks.values(), minutes_left, horizon_days)
    first = clock.on(0)
    rows = House(
        record=house,
        clock=clock,
        now=clock.ceil(as_of),
        axis_days=axis_days,
        days_off=dict(
            bank_holidays(
                house.country, house.subdivision, first - NOTICE_REACH,
                first + NOTICE_REACH + timedelta(days=axis_days),
            )
        ),
        people=people,
        tasks=tasks,
        links=list(Link.objects.filter(before__package__property=house).order_by("pk")),
        visits={
            visit.pk: visit
            for visit in Visit.objects.filter(property=house)
            .select_related("trade")
            .prefetch_related("tasks")
            .order_by("pk")
        },
        inspections={
            row.pk: row
            for row in Inspection.objects.filter(property=house)
            .prefetch_related("looks_at", "blocks")
            .order_by("pk")
        },
        conditions=list(
            open_conditions(house).prefetch_related("blocks").order_by("pk")
        ),
        missing=missing_evidence(house),
        needs=list(
            AccessNeed.objects.filter(property=house)
            .select_related("trade", "task", "inspection", "visit", "floor")
            .order_by("pk")
        ),
        supplies=list(
            Supply.objects.filter(property=house, arrived_at__isnull=True)
            .prefetch_related("tasks")
            .order_by("pk")
        ),
        wet=wet_timber(house, today=clock.on(clock.ceil(as_of))),
        tools=list(Tool.objects.filter(property=house).order_by("pk")),
        minutes_left=minutes_left,
        floors={row.pk: row for row in Floor.objects.filter(property=house).order_by("pk")},
        boards={
            row.pk: row
            for row in Board.objects.filter(floor__property=house)
            .select_related("floor__storey")
            .order_by("floor", "course", "pk")
        },
    )  # fmt: skip
    rows.touched = touched_by(rows.boards.values(), places(rows))
    return rows


def axis_length(
    people: Iterable[Person],
    tasks: Iterable[Task],
    minutes_left: dict[int, int],
    horizon_days: int,
) -> int:
    """Days the plan's axis must have so that the crew's hours can hold the crew's work."""
    week = sum(
        (stretch.ends.hour - stretch.starts.hour) * 60 + stretch.ends.minute - stretch.starts.minute
        for person in people
        if person.role == Person.Role.CREW
        for stretch in person.working_times.all()
    )
    left = sum(
        minutes_left[task.pk]
        for task in tasks
        if task.trade_id is None and task.status in OPEN_TASKS
    )
    needed = int(7 * SLACK * left / week) if week else 0
    return min(LONGEST_AXIS_DAYS, max(horizon_days, needed) + ROOM_BEHIND_DAYS)


def places(house: House) -> Iterable[tuple[tuple[str, int], Any]]:
    """Each task, need and inspection that names a place on a floor."""
    yield from (
        (("task", task.pk), task) for task in house.tasks.values() if task.floor_action != "none"
    )
    yield from ((("accessneed", need.pk), need) for need in house.needs)
    yield from ((("inspection", row.pk), row) for row in house.inspections.values())


def activity_keys(house: House) -> dict[str, str]:
    """Which activity stands for each open task: itself, or the visit that does it."""
    keys = {
        f"task:{task.pk}": f"task:{task.pk}"
        for task in house.tasks.values()
        if task.status in OPEN_TASKS
    }
    for visit in house.visits.values():
        if visit.state in OPEN_VISITS:
            for task in visit.tasks.all():
                if keys.get(f"task:{task.pk}") == f"task:{task.pk}":
                    keys[f"task:{task.pk}"] = f"visit:{visit.pk}"
    return keys


def stands_in_plan(house: House, visit: Visit | None) -> bool:
    """Whether a visit can be placed: open, and not agreed for a time before today."""
    if visit is None or visit.state not in OPEN_VISITS:
        return False
    if visit.state != Visit.State.AGREED:
        return True
    return visit.ends is not None and house.clock.ceil(visit.ends) > 0


def inspection_in_plan(house: House, row: Inspection | None) -> bool:
    if row is None or row.state in SIGNED_OFF:
        return False
    if row.state != Inspection.State.BOOKED:
        return True
    return row.booked_ends is not None and house.clock.ceil(row.booked_ends) > 0


def blocked_tasks(house: House, row: Inspection) -> list[int]:
    """Named ones, and every open fixing task that would cover what is looked at."""
    seen = house.touched.get(("inspection", row.pk), frozenset())
    named = [task.pk for task in row.blocks.all()]
    looked = {task.pk for task in row.looks_at.all()}
    covering = [
        task.pk
        for task in house.tasks.values()
        if task.floor_action == "fix" and house.touched.get(("task", task.pk), frozenset()) & seen
    ]
    return [pk for pk in dict.fromkeys([*named, *covering]) if pk not in looked]
