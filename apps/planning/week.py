"""The week as the person lives it: days, hours, stints, who comes, what comes, which boards."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from apps.floors.models import Board
from apps.inspections.models import Inspection
from apps.planning import selectors
from apps.planning.calendars import DatedHours, WeeklyHours, windows_of
from apps.planning.clock import Clock
from apps.planning.floor_order import mark_key
from apps.planning.ground import touched_in
from apps.planning.kept import lie_of
from apps.planning.models import Person, Plan, Stint
from apps.planning.services import current_plan
from apps.property.bank_holidays import bank_holidays
from apps.property.models import Property
from apps.trades.models import Visit
from apps.work.models import Supply, Task

ONE_DAY = timedelta(days=1)
QUARTERS_A_WEEK = 7 * 96 + 8
CHANGES = {"lift", "fix"}


@dataclass(frozen=True)
class WeekRows:
    """What one week is made of, read with a fixed number of queries."""

    plan: Plan | None
    stints: list[Stint]
    visits: list[Visit]
    inspections: list[Inspection]
    supplies: list[Supply]
    people: list[Person]
    touched: dict[int, frozenset[int]]
    boards: dict[int, Board]


def week(house: Property, *, on: date, now: datetime) -> dict[str, Any]:
    """The seven days from the Monday on or before a date (ISO 8601 week).

    Days come with local dates, times as instants. A night is listed on the date it begins.
    """
    zone = ZoneInfo(house.timezone)
    monday = on - timedelta(days=on.weekday())
    opens = datetime.combine(monday, time(0), zone)
    closes = datetime.combine(monday + 7 * ONE_DAY, time(0), zone)
    plan, lie = current_plan(house), lie_of(house)
    rows = read_week(house, plan, lie, opens, closes)
    nights = {
        night["date"]: night["routes"]
        for night in selectors.nights(house, first=monday, days=7, now=now, plan=plan, lie=lie)
    }
    hours = working_hours(house, rows.people, opens)
    days = [monday + n * ONE_DAY for n in range(7)]
    year, number, _ = monday.isocalendar()
    return {
        "property": house.pk,
        "week": f"{year}-W{number:02d}",
        "plan": plan_summary(rows.plan),
        "days": [day(rows, on_date, zone, hours, nights.get(on_date, [])) for on_date in days],
    }


def read_week(
    house: Property, plan: Plan | None, lie: str, opens: datetime, closes: datetime
) -> WeekRows:
    stints = stints_between(plan, opens, closes)
    changes = {s.task.pk: s.task for s in stints if s.task and s.task.floor_action in CHANGES}
    touched = touched_in(house, changes.items(), lie=lie)
    boards = Board.objects.filter(pk__in=frozenset[int]().union(*touched.values()))
    return WeekRows(
        plan=plan,
        stints=stints,
        touched=touched,
        boards=boards.only("mark", "floor__name").select_related("floor").in_bulk(),
        visits=list(
            Visit.objects.filter(property=house, starts__lt=closes, ends__gt=opens)
            .exclude(state=Visit.State.MISSED)
            .select_related("trade")
            .order_by("starts")
        ),
        inspections=list(
            Inspection.objects.filter(
                property=house, booked_starts__lt=closes, booked_ends__gt=opens
            ).order_by("booked_starts")
        ),
        supplies=list(
            Supply.objects.filter(
                property=house,
                expected_on__range=(opens.date(), closes.date() - ONE_DAY),
                arrived_at__isnull=True,
            ).order_by("expected_on", "expected_at")
        ),
        people=list(
            Person.objects.filter(property=house)
            .prefetch_related("working_times", "exceptions")
            .order_by("role", "pk")
        ),
    )


def stints_between(plan: Plan | None, opens: datetime, closes: datetime) -> list[Stint]:
    if plan is None:
        return []
    return list(
        plan.stints.filter(starts__lt=closes, ends__gt=opens)
        .select_related("task__room", "task__floor", "task__package", "visit__trade")
        .select_related("inspection")
        .prefetch_related("task__tools")
        .order_by("starts", "pk")
    )


def plan_summary(plan: Plan | None) -> dict[str, Any] | None:
    if plan is None:
        return None
    return {
        "id": plan.pk, "as_of": plan.as_of, "proven": plan.proven, "gap": plan.gap,
        "unplaced": plan.unplaced,
    }  # fmt: skip


def working_hours(
    house: Property, people: list[Person], opens: datetime
) -> list[tuple[Person, datetime, datetime]]:
    """Each person's stretches of the week, exceptions and bank holidays applied."""
    clock = Clock.starting(opens, house.timezone)
    first = opens.date()
    days_off = (
        ()
        if house.work_on_bank_holidays
        else bank_holidays(house.country, house.subdivision, first, first + 7 * ONE_DAY)
    )
    return [
        (person, clock.at(a), clock.at(b))
        for person in people
        for a, b in windows_of(
            [WeeklyHours(w.weekday, w.starts, w.ends) for w in person.working_times.all()],
            [DatedHours(e.date, e.starts, e.ends) for e in person.exceptions.all()],
            days_off=days_off,
            timezone=house.timezone,
            origin=clock.origin,
            horizon=QUARTERS_A_WEEK,
        )
    ]


def day(
    rows: WeekRows,
    on: date,
    zone: ZoneInfo,
    hours: list[tuple[Person, datetime, datetime]],
    routes: list[dict[str, Any]],
) -> dict[str, Any]:
    def today(instant: datetime | None) -> bool:
        return instant is not None and instant.astimezone(zone).date() == on

    stints = [stint for stint in rows.stints if today(stint.starts)]
    chances = rows.plan.odds if rows.plan else None
    visits = {stint.visit_id for stint in stints}
    looks = {stint.inspection_id for stint in stints}
    return {
        "date": on,
        "working_times": [
            {"person": person.pk, "name": person.name, "starts": starts, "ends": ends}
            for person, starts, ends in hours
            if today(starts)
        ],
        "stints": [stint_entry(stint, stint.task) for stint in stints if stint.task],
        "visits": [
            *(
                visit_entry(
                    s.visit,
                    s.starts,
                    s.ends,
                    s.why_not_sooner,
                    chance_of(chances, "visits", s.visit_id),
                )
                for s in stints
                if s.visit
            ),
            *(
                visit_entry(visit, visit.starts, visit.ends)
                for visit in rows.visits
                if today(visit.starts) and visit.pk not in visits
            ),
        ],
        "inspections": [
            *(
                inspection_entry(
                    s.inspection,
                    s.starts,
                    s.ends,
                    s.why_not_sooner,
                    chance_of(chances, "inspections", s.inspection_id),
                )
                for s in stints
                if s.inspection
            ),
            *(
                inspection_entry(row, row.booked_starts, row.booked_ends)
                for row in rows.inspections
                if today(row.booked_starts) and row.pk not in looks
            ),
        ],
        "deliveries": [
            {
                "supply": supply.pk,
                "title": supply.title,
                "expected_at": datetime.combine(on, supply.expected_at, zone),
            }
            for supply in rows.supplies
            if supply.expected_on == on
        ],
        "boards": board_changes(rows, stints),
        "tonight": routes,
    }


def stint_entry(stint: Stint, task: Task) -> dict[str, Any]:
    return {
        "task": task.pk,
        "title": task.title,
        "package": task.package.title,
        "place": str(task.room or task.floor or ""),
        "trade": task.trade_id,
        "starts": stint.starts,
        "ends": stint.ends,
        "why_not_sooner": stint.why_not_sooner,
        "watch": watch(task),
    }


def watch(task: Task) -> list[str]:
    """What to have in mind before starting, in a few words each."""
    tools = [tool.name for tool in task.tools.all()]
    notes = {
        "loud: keep to the loud-work hours": task.loud,
        "outdoors": task.outdoors,
        f"{task.people} people": task.people > 1,
        f"tools: {', '.join(tools)}": bool(tools),
        "in one go": not task.splittable,
        "stand only on boards that are down": task.floor_action == "stand_on",
        "boards come up: check the way at night": task.floor_action == "lift",
    }
    return [note for note, holds in notes.items() if holds]


def chance_of(odds: Any, what: str, pk: int | None) -> dict[str, Any] | None:
    """What a plan's odds say of one visit or inspection."""
    found = odds[what] if odds else ()
    return next((row for row in found if row["about"]["id"] == pk), None)


def visit_entry(
    visit: Visit,
    starts: datetime | None,
    ends: datetime | None,
    why: Any = None,
    odds: dict[str, Any] | None = None,
) -> dict[str, Any]:
    return {
        "visit": visit.pk,
        "title": str(visit),
        "trade": visit.trade.name,
        "state": visit.state,
        "starts": starts,
        "ends": ends,
        "why_not_sooner": why,
        "odds": odds,
    }


def inspection_entry(
    row: Inspection,
    starts: datetime | None,
    ends: datetime | None,
    why: Any = None,
    odds: dict[str, Any] | None = None,
) -> dict[str, Any]:
    return {
        "inspection": row.pk,
        "title": row.title,
        "by": row.by,
        "state": row.state,
        "starts": starts,
        "ends": ends,
        "why_not_sooner": why,
        "odds": odds,
    }


def board_changes(rows: WeekRows, stints: list[Stint]) -> dict[str, list[dict[str, Any]]]:
    """Boards to lift and to fix on a day, by the tasks planned on it."""
    tasks = {stint.task.pk: stint.task for stint in stints if stint.task}
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for task in tasks.values():
        if task.pk in rows.touched:
            found[task.floor_action].append(
                {
                    "task": task.pk,
                    "floor": task.floor_id,
                    "boards": sorted(
                        (named(rows.boards[pk]) for pk in rows.touched[task.pk]),
                        key=lambda item: mark_key(str(item["mark"])),
                    ),
                }
            )
    return {"lift": found["lift"], "fix": found["fix"]}


def named(board: Board) -> dict[str, Any]:
    return {
        "board": board.pk, "mark": board.mark, "floor": board.floor_id,
        "floor_name": board.floor.name,
    }  # fmt: skip
