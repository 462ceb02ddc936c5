"""What belongs in a feed now: stints, visits, inspections and notice deadlines of one house."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from apps.inspections.models import Inspection
from apps.inspections.notices import working_days_before
from apps.planning.clock import say_date
from apps.planning.feeds.memory import SHOWN_AFTER, Event
from apps.planning.feeds.models import CalendarFeed
from apps.planning.models import Person, Stint
from apps.planning.services import current_plan
from apps.trades.models import Visit
from apps.work.models import Task

OVER = (Task.Status.DONE, Task.Status.DROPPED)
NO_NOTICE_YET = (Inspection.State.DUE, Inspection.State.REJECTED)
# Longer than the longest notice there may be, 60 working days.
NOTICE_REACH = timedelta(days=120)
MAY_MOVE = "Planned; it may still move."


@dataclass(frozen=True)
class Reader:
    """Whose feed it is, and from when on it looks."""

    feed: CalendarFeed
    now: datetime

    @property
    def since(self) -> datetime:
        return self.now - SHOWN_AFTER

    @property
    def house(self) -> str:
        return self.feed.property.address or self.feed.property.name


def events_of(feed: CalendarFeed, *, now: datetime) -> list[Event]:
    """The events of a feed. A fixed number of queries.

    The crew is told of everything; a helper of the work that takes more than one; a trade of its
    own visits and tasks, and of nothing else in the house.
    """
    reader = Reader(feed, now)
    stints = stints_of(reader)
    found = [*task_events(reader, stints)]
    if feed.person is not None and feed.person.role == Person.Role.HELPER:
        return found
    found += visit_events(reader, stints)
    if feed.trade is None:
        found += inspection_events(reader, stints)
        found += notice_events(reader, stints)
    return found


def stints_of(reader: Reader) -> list[Stint]:
    feed, plan = reader.feed, current_plan(reader.feed.property)
    if plan is None:
        return []
    rows: QuerySet[Stint] = plan.stints.filter(ends__gt=reader.since)
    if feed.trade is not None:
        rows = rows.filter(Q(task__trade=feed.trade) | Q(visit__trade=feed.trade))
    elif feed.person is not None and feed.person.role == Person.Role.HELPER:
        rows = rows.filter(task__people__gt=1)
    return list(
        rows.select_related(
            "task__package", "task__room", "task__floor", "task__trade", "visit__trade",
            "inspection",
        ).prefetch_related("task__tools")
    )  # fmt: skip


def task_events(reader: Reader, stints: list[Stint]) -> Iterator[Event]:
    own = reader.feed.trade is not None
    for stint in stints:
        task = stint.task
        if task is None or (task.status in OVER and stint.starts > reader.now):
            continue
        tentative = not stint.firm or task.trade_id is not None
        tools = ", ".join(tool.name for tool in task.tools.all())
        place = str(task.room or task.floor or "")
        title = task.title if own or task.trade is None else f"{task.trade}: {task.title}"
        yield Event(
            "task", task.pk, stint.starts, stint.ends, title,
            place=reader.house if own else place,
            note=lines(
                "" if own else f"{task.package}", place if own else "",
                f"Tools: {tools}" if tools and not own else "", MAY_MOVE if tentative else "",
            ),
            tentative=tentative,
        )  # fmt: skip


def visit_events(reader: Reader, stints: list[Stint]) -> Iterator[Event]:
    rows = Visit.objects.filter(
        property=reader.feed.property,
        state__in=[Visit.State.AGREED, Visit.State.DONE],
        ends__gt=reader.since,
    )
    if reader.feed.trade is not None:
        rows = rows.filter(trade=reader.feed.trade)
    for visit in rows.select_related("trade"):
        if visit.starts and visit.ends:
            yield visit_event(reader, visit, visit.starts, visit.ends)
    for stint in stints:
        if stint.visit and stint.visit.state in {Visit.State.WANTED, Visit.State.ASKED}:
            yield visit_event(reader, stint.visit, stint.starts, stint.ends, tentative=True)


def visit_event(
    reader: Reader, visit: Visit, starts: datetime, ends: datetime, *, tentative: bool = False
) -> Event:
    own = reader.feed.trade is not None
    title = str(visit) if own or not visit.title else f"{visit.trade}: {visit.title}"
    phone = visit.trade.phone
    return Event(
        "visit", visit.pk, starts, ends, title, place=reader.house,
        note=lines(
            f"Ring: {phone}" if phone and not own else "",
            "Not agreed yet; it may still move." if tentative else "",
        ),
        tentative=tentative,
    )  # fmt: skip


def inspection_events(reader: Reader, stints: list[Stint]) -> Iterator[Event]:
    """Booked looks, those that have been, and planned ones that are not booked."""
    booked = Q(state=Inspection.State.BOOKED) | Q(booked_starts__lte=reader.now)
    rows = Inspection.objects.filter(
        booked, property=reader.feed.property, booked_ends__gt=reader.since
    )
    for row in rows:
        if row.booked_starts and row.booked_ends:
            yield Event(
                "inspection", row.pk, row.booked_starts, row.booked_ends, row.title,
                place=reader.house,
                note=f"Reference: {row.reference}" if row.reference else "",
            )  # fmt: skip
    for stint in stints:
        if stint.inspection and stint.inspection.state in {*NO_NOTICE_YET, "notified"}:
            yield Event(
                "inspection", stint.inspection.pk, stint.starts, stint.ends,
                stint.inspection.title, place=reader.house,
                note="Not booked yet; it may still move.", tentative=True,
            )  # fmt: skip


def notice_events(reader: Reader, stints: list[Stint]) -> Iterator[Event]:
    """The last day to give each notice that is not given yet: the day of the alert `notice_due`."""
    rows = [
        (stint.inspection, stint.starts.astimezone(ZoneInfo(reader.feed.property.timezone)).date())
        for stint in stints
        if stint.inspection
        and stint.inspection.state in NO_NOTICE_YET
        and stint.inspection.by != Inspection.By.OWN_CHECK
    ]
    if not rows:
        return
    days_off = days_off_of(reader, [look_on for _, look_on in rows])
    for row, look_on in rows:
        give_by = working_days_before(look_on, row.notice_working_days, days_off)
        opens = datetime.combine(give_by, time(0), UTC)
        yield Event(
            "notice", row.pk, opens, opens + timedelta(days=1), f"Last day to give notice: {row}",
            note=f"For a look on {say_date(look_on)}.", all_day=True,
        )  # fmt: skip


def days_off_of(reader: Reader, looks: list[date]) -> set[date]:
    from apps.property.bank_holidays import bank_holidays  # noqa: PLC0415 (large library)

    house = reader.feed.property
    found = bank_holidays(house.country, house.subdivision, min(looks) - NOTICE_REACH, max(looks))
    return set(found)


def lines(*parts: str) -> str:
    return "\n".join(part for part in parts if part)
