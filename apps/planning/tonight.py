"""The next stretch of work as whoever stands in it needs it: what to do, what to leave safe,
who comes next and what must be open for them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from apps.floors.models import Board
from apps.inspections.models import Inspection
from apps.planning import selectors
from apps.planning.floor_order import mark_key
from apps.planning.ground import touched_in
from apps.planning.kept import lie_of
from apps.planning.models import Person, Plan, Stint
from apps.planning.problem import QUARTER_MINUTES
from apps.planning.services import current_plan
from apps.planning.week import ONE_DAY, watch, working_hours
from apps.property.models import Property
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.work.models import Task
from apps.work.selectors import OPEN_STATES, remaining_minutes

COMING_SHOWN = 3
QUARTER = timedelta(minutes=QUARTER_MINUTES)
LOOK_AHEAD = timedelta(days=28)
OPEN = {"up": {"up", "missing"}, "unfixed": {"up", "missing", "loose"}}
"""Board states that count as open, by what an access need asks."""


def tonight(house: Property, *, now: datetime) -> dict[str, Any]:
    """The next stretch of work, what is left of earlier ones, what to leave safe, who comes.

    `on` is the day whose work is shown: today while there is something to do and hours to do
    it in, else the next day with planned work; None without any.
    """
    zone = ZoneInfo(house.timezone)
    plan = current_plan(house)
    today = now.astimezone(zone).date()
    stints = crew_stints(plan)
    hours = hours_of(house, today, zone)
    on = day_of_work(stints, hours, now, zone)
    first = {stint.task_id: stint for stint in reversed(stints) if on_day(stint, zone) == on}
    planned = [stint for stint in stints if first.get(stint.task_id) is stint]
    left = {
        stint.task_id: stint for stint in stints if stint.task_id not in first and stint.ends <= now
    }
    started = Task.objects.filter(package__property=house, status=Task.Status.DOING, trade=None)
    others = [task for task in with_places(started) if task.pk not in first and task.pk not in left]
    tasks = [stint.task for stint in [*planned, *left.values()] if stint.task] + others
    minutes = remaining_minutes(tasks)
    # Who does not come back before the next noon looks at it before they go.
    look_by = datetime.combine((on or today) + ONE_DAY, time(12), zone)
    lie = lie_of(house)
    boards = list(
        Board.objects.filter(floor__property=house)
        .only("mark", "state", "floor__name")
        .select_related("floor")
        .order_by("pk")
    )
    return {
        "plan": plan,
        "on": on,
        "hours": [row for row in hours if row["starts"].astimezone(zone).date() == on],
        "todo": [
            task_entry(s.task, minutes, s, day_minutes(stints, s, zone)) for s in planned if s.task
        ],
        "left": [task_entry(s.task, minutes, s) for s in left.values() if s.task]
        + [task_entry(task, minutes) for task in others],
        "boards": touched(house, tasks, boards, lie),
        "done": done_since(house, datetime.combine(today, time(0), zone)),
        "ways": ways_to_mend(house, on or today, boards, now, plan, lie),
        "measures": measures(house, until=look_by),
        "open_floors": open_floors(boards),
        "coming": coming(house, plan, boards, now, lie),
    }  # fmt: skip


def crew_stints(plan: Plan | None) -> list[Stint]:
    """Stints of the crew's own open tasks, in order."""
    if plan is None:
        return []
    return list(
        plan.stints.filter(task__isnull=False, task__trade=None, task__status__in=OPEN_STATES)
        .select_related("task__room", "task__floor", "task__package")
        .prefetch_related("task__tools")
        .order_by("starts", "pk")
    )


def with_places(rows: Any) -> Any:
    return rows.select_related("room", "floor", "package").prefetch_related("tools").order_by("pk")


def on_day(stint: Stint, zone: ZoneInfo) -> date:
    return stint.starts.astimezone(zone).date()


def hours_of(house: Property, today: date, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Everybody's working hours of the week that begins today."""
    people = list(
        Person.objects.filter(property=house)
        .prefetch_related("working_times", "exceptions")
        .order_by("role", "pk")
    )
    return [
        {"name": person.name, "starts": starts, "ends": ends}
        for person, starts, ends in working_hours(
            house, people, datetime.combine(today, time(0), zone)
        )
    ]


def day_of_work(
    stints: Sequence[Stint], hours: Sequence[dict[str, Any]], now: datetime, zone: ZoneInfo
) -> date | None:
    today = now.astimezone(zone).date()
    days = sorted({on_day(stint, zone) for stint in stints})
    ends = [stint.ends for stint in stints if on_day(stint, zone) == today]
    ends += [row["ends"] for row in hours if row["ends"].astimezone(zone).date() == today]
    over = not ends or max(ends) <= now
    return next((on for on in days if on > today or (on == today and not over)), None)


def day_minutes(stints: Sequence[Stint], of: Stint, zone: ZoneInfo) -> int:
    """How long a task is planned for on the day of one of its stints."""
    day = [s for s in stints if s.task_id == of.task_id and on_day(s, zone) == on_day(of, zone)]
    return sum(int((s.ends - s.starts) / timedelta(minutes=1)) for s in day)


def task_entry(
    task: Task, left: dict[int, int], stint: Stint | None = None, minutes: int | None = None
) -> dict[str, Any]:
    """One task. `minutes` are those of the day; `left_minutes` of the whole task; `at_once`: it
    begins when the plan does."""
    return {
        "task": task,
        "place": str(task.room or task.floor or ""),
        "starts": stint.starts if stint else None,
        "ends": stint.ends if stint else None,
        "minutes": minutes,
        "left_minutes": left[task.pk],
        "tools": [tool.name for tool in task.tools.all()],
        "watch": [note for note in watch(task) if not note.startswith("tools: ")],
        "why_not_sooner": stint.why_not_sooner if stint else None,
        "at_once": stint is not None and stint.starts <= stint.plan.as_of + QUARTER,
    }


def done_since(house: Property, since: datetime) -> list[Task]:
    """What the crew finished from a moment on, the last first."""
    return list(
        Task.objects.filter(package__property=house, trade=None, finished_at__gte=since)
        .order_by("-finished_at")
    )  # fmt: skip


def touched(
    house: Property, tasks: Sequence[Task], boards: Sequence[Board], lie: str
) -> dict[int, list[str]]:
    """Marks of the boards that each lifting or fixing task is about, by its id."""
    about = [(task.pk, task) for task in tasks if task.floor_action in {"lift", "fix"}]
    marks = {board.pk: board.mark for board in boards}
    return {
        pk: sorted((marks[board] for board in ids), key=mark_key)
        for pk, ids in touched_in(house, about, lie=lie).items()
    }


def ways_to_mend(
    house: Property,
    on: date,
    boards: Sequence[Board],
    now: datetime,
    plan: Plan | None,
    lie: str,
) -> list[dict[str, Any]]:
    """Household routes that do not hold at the night of a day, with what restores each.

    `lay_now` are those of the boards to lay loose that are up at this moment.
    """
    up = {board.pk for board in boards if board.state == Board.State.UP}
    return [
        {**route, "lay_now": [row for row in route["lay_loose"] if row["board"] in up]}
        for night in selectors.nights(house, first=on, days=1, now=now, plan=plan, lie=lie)
        for route in night["routes"]
        if not route["holds"]
    ]


def measures(house: Property, *, until: datetime) -> list[dict[str, Any]]:
    """Temporary measures in place; `due` when they are to be looked at before a moment."""
    rows = TemporaryMeasure.objects.filter(property=house, cleared_at=None).order_by("pk")
    return sorted(
        (
            {
                "measure": row,
                "seen": row.last_checked_at or row.since,
                "due": row.check_every_hours is not None
                and (row.last_checked_at or row.since) + timedelta(hours=row.check_every_hours)
                <= until,
            }
            for row in rows.select_related("clear_before_task")
        ),
        key=lambda row: not row["due"],
    )


def open_floors(boards: Sequence[Board]) -> list[dict[str, Any]]:
    """How many boards of each floor are up or missing now."""
    count = Counter(board.floor.name for board in boards if board.state in OPEN["up"])
    return [{"floor": name, "boards": number} for name, number in sorted(count.items())]


def coming(
    house: Property, plan: Plan | None, boards: Sequence[Board], now: datetime, lie: str
) -> list[dict[str, Any]]:
    """The next few who come, from what is agreed or booked and from the plan."""
    visits = {
        row.pk: row
        for row in Visit.objects.filter(property=house)
        .exclude(state__in=[Visit.State.DONE, Visit.State.MISSED])
        .select_related("trade")
    }
    looks = {row.pk: row for row in Inspection.objects.filter(property=house)}
    times: dict[tuple[str, int], tuple[datetime, datetime]] = {}
    for visit in visits.values():
        if visit.state == Visit.State.AGREED and visit.starts and visit.ends:
            times["visit", visit.pk] = (visit.starts, visit.ends)
    for look in looks.values():
        if look.state == Inspection.State.BOOKED and look.booked_starts and look.booked_ends:
            times["inspection", look.pk] = (look.booked_starts, look.booked_ends)
    if plan is not None:
        planned = plan.stints.filter(task=None, ends__gt=now).order_by("starts")
        for stint in planned:
            key = ("visit", stint.visit_id or 0) if stint.visit_id else (
                "inspection", stint.inspection_id or 0
            )  # fmt: skip
            if key[0] == "inspection" or key[1] in visits:
                times.setdefault(key, (stint.starts, stint.ends))
    found = sorted(
        (starts, ends, kind, pk)
        for (kind, pk), (starts, ends) in times.items()
        if ends > now and starts < now + LOOK_AHEAD
    )[:COMING_SHOWN]
    needs = needs_of(house, [(kind, pk) for _, _, kind, pk in found], boards, lie)
    return [
        {
            **(visit_row(visits[pk]) if kind == "visit" else look_row(looks[pk])),
            "starts": starts,
            "ends": ends,
            "needs": needs.get((kind, pk), []),
        }
        for starts, ends, kind, pk in found
    ]


def visit_row(visit: Visit) -> dict[str, Any]:
    return {
        "kind": "visit", "id": visit.pk, "who": visit.trade.name, "title": str(visit),
        "phone": visit.trade.phone, "state": visit.state,
    }  # fmt: skip


def look_row(look: Inspection) -> dict[str, Any]:
    return {
        "kind": "inspection", "id": look.pk, "who": look.get_by_display(), "title": look.title,
        "phone": "", "state": look.state,
    }  # fmt: skip


def needs_of(
    house: Property, who: Sequence[tuple[str, int]], boards: Sequence[Board], lie: str | None = None
) -> dict[tuple[str, int], list[dict[str, Any]]]:
    """What each visit or inspection needs opened: which boards are still down, which are open."""
    by_kind = {kind: [pk for k, pk in who if k == kind] for kind in ("visit", "inspection")}
    rows = list(
        AccessNeed.objects.filter(
            Q(visit__in=by_kind["visit"]) | Q(inspection__in=by_kind["inspection"]),
            property=house, released_at=None,
        ).select_related("floor").order_by("pk")
    )  # fmt: skip
    ids = touched_in(house, [(row.pk, row) for row in rows], lie=lie)
    known = {board.pk: board for board in boards}
    found: dict[tuple[str, int], list[dict[str, Any]]] = {}
    for row in rows:
        key = ("visit", row.visit_id) if row.visit_id else ("inspection", row.inspection_id)
        wanted = [known[pk] for pk in ids.get(row.pk, ())]
        shut = [board.mark for board in wanted if board.state not in OPEN[row.open_as]]
        found.setdefault((key[0], key[1] or 0), []).append(
            {
                "need": row,
                "shut": sorted(shut, key=mark_key),
                "open": len(wanted) - len(shut),
            }
        )
    return found
