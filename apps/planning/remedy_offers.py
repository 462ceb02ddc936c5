"""What a house could change: evenings nobody works, days an outsider comes, tasks that can wait."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from apps.planning.loading.hours import CREW
from apps.planning.loading.house import House
from apps.planning.loading.question import Question
from apps.planning.models import Person
from apps.planning.problem import Activity, Interval
from apps.planning.remedies import Offer
from apps.work.models import Task

# Hours offered to a crew that never works evenings, and when an evening begins: common
# practice, no source.
USUAL_EVENING = (time(18, 30), time(20, 30))
EVENING_FROM = time(16)
# Offers further ahead help nobody who reads about a visit this month.
OFFERED_DAYS = 60


def offer(question: Question) -> Offer:
    """What this house could change, as far as its record knows."""
    house, problem = question.house, question.problem
    outsiders = [a for a in problem.activities if a.fixed and a.ref.kind in {"visit", "inspection"}]
    looked_at = {task.pk for row in house.inspections.values() for task in row.looks_at.all()}
    waited_for = {link.before for link in problem.links}
    return Offer(
        visit_starts={one.key: tuple(_days_open(question, one)) for one in outsiders},
        evenings=tuple(_free_evenings(question)),
        crew=(CREW,),
        droppable=frozenset(
            activity.key
            for activity in problem.activities
            if activity.key not in waited_for
            and (task := task_of(house, activity.key)) is not None
            and task.status == Task.Status.TO_DO
            and task.floor_action == Task.FloorAction.NONE
            and task.pk not in looked_at
        ),
        loose_links=frozenset(
            link
            for link in problem.links
            if link.code == "predecessor"
            and link.min_lag == 0
            and task_of(house, link.before) is not None
            and task_of(house, link.after) is not None
        ),
    )


def task_of(house: House, key: str) -> Task | None:
    kind, _, pk = key.partition(":")
    return house.tasks.get(int(pk)) if kind == "task" else None


def _dates(house: House) -> Iterable[date]:
    first = house.clock.on(house.now)
    days = min(OFFERED_DAYS, house.axis_days)
    return (first + timedelta(days=n) for n in range(days))


def _days_open(question: Question, activity: Activity) -> Iterable[int]:
    """Starts at the outsider's agreed hour on their days, where nothing else is agreed."""
    house, problem = question.house, question.problem
    assert activity.fixed is not None, "only what is agreed has an hour"  # nosec B101
    start, end = activity.fixed
    at = house.clock.local(house.clock.at(start)).time()
    windows = [c.windows for c in problem.calendars if c.key in activity.calendars]
    taken = [
        other.fixed
        for other in problem.activities
        if other.fixed and other.key != activity.key and set(other.uses) & set(activity.uses)
    ]
    for on in _dates(house):
        begins = _quarter(house, on, at)
        ends = begins + end - start
        is_open = all(any(a <= begins and ends <= b for a, b in one) for one in windows)
        if is_open and not any(a < ends and b > begins for a, b in taken):
            yield begins


def _free_evenings(question: Question) -> Iterable[Interval]:
    """The crew's usual evening on dates without one; a recorded day off stays one."""
    house = question.house
    crew = [person for person in house.people if person.role == Person.Role.CREW]
    if not crew:
        return
    usual = Counter(
        (row.starts, row.ends) for row in crew[0].working_times.all() if row.starts >= EVENING_FROM
    )
    starts, ends = usual.most_common(1)[0][0] if usual else USUAL_EVENING
    off = {row.date for row in crew[0].exceptions.all() if row.starts is None}
    if not house.record.work_on_bank_holidays:
        off |= set(house.days_off)
    windows = next(c.windows for c in question.problem.calendars if c.key == CREW)
    for on in _dates(house):
        evening = (_quarter(house, on, starts), _quarter(house, on, ends))
        if on in off or evening[0] < house.now:
            continue
        if not any(a < evening[1] and b > evening[0] for a, b in windows):
            yield evening


def _quarter(house: House, on: date, at: time) -> int:
    return house.clock.ceil(datetime.combine(on, at, house.clock.zone))
