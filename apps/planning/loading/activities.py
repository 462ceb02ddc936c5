"""What is to be placed: the crew's tasks, visits, inspections."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from apps.inspections.models import Inspection
from apps.planning.clock import quarters, say_date
from apps.planning.floor_order import FloorOrder
from apps.planning.loading import waits
from apps.planning.loading.hours import CREW, DAYLIGHT, LOUD, OUTDOORS, helpers_key
from apps.planning.loading.house import House, inspection_in_plan, ref, stands_in_plan
from apps.planning.problem import Activity, Release
from apps.trades.models import Visit

# A wanted window that is missed weighs as much as ten ordinary due dates: somebody else's
# week hangs on it.
WINDOW_WEIGHT = 10


def crew_tasks(
    house: House,
    aliases: dict[str, str],
    order: FloorOrder,
    unsaid: dict[int, list[Release]],
) -> Iterable[Activity]:
    drying = waits.drying_still(house)
    lit = () if house.record.latitude_deg is None else (DAYLIGHT,)
    for task in house.tasks.values():
        key = f"task:{task.pk}"
        if aliases.get(key) != key or task.trade_id is not None:
            continue
        yield Activity(
            key,
            ref(task),
            quarters(house.minutes_left[task.pk]),
            uses=(CREW, *(f"tool:{tool.pk}" for tool in task.tools.all())),
            calendars=(
                CREW,
                *((helpers_key(task.people - 1),) if task.people > 1 else ()),
                *((LOUD,) if task.loud else ()),
                *((OUTDOORS, *lit) if task.outdoors else ()),
            ),
            splittable=task.splittable,
            shortest_stint=quarters(task.shortest_stint_minutes),
            set_up=quarters(task.set_up_minutes),
            clear_up=quarters(task.clear_up_minutes),
            releases=waits.task_releases(house, task, key, order, unsaid, drying),
            due=None if task.due is None else house.clock.floor(task.due),
            due_weight=task.due_weight,
        )


def trade_tasks(
    house: House,
    aliases: dict[str, str],
    order: FloorOrder,
    unsaid: dict[int, list[Release]],
) -> Iterable[Activity]:
    """Tasks of a trade that no visit does yet: placed where a visit could be."""
    drying = waits.drying_still(house)
    for task in house.tasks.values():
        key = f"task:{task.pk}"
        if aliases.get(key) != key or task.trade is None:
            continue
        yield Activity(
            key,
            ref(task),
            quarters(house.minutes_left[task.pk]),
            uses=(f"trade:{task.trade_id}",),
            calendars=(f"trade:{task.trade_id}",),
            splittable=False,
            releases=(
                *waits.task_releases(house, task, key, order, unsaid, drying),
                waits.trade_notice(house, task.trade),
            ),
            due=None if task.due is None else house.clock.floor(task.due),
            due_weight=task.due_weight,
        )


def visit_activities(house: House, unsaid: dict[int, list[Release]]) -> Iterable[Activity]:
    for visit in house.visits.values():
        if not stands_in_plan(house, visit):
            continue
        fixed = None
        if visit.state == Visit.State.AGREED and visit.starts and visit.ends:
            fixed = (house.clock.floor(visit.starts), house.clock.ceil(visit.ends))
        releases = (
            [waits.trade_notice(house, visit.trade)] if visit.state == Visit.State.WANTED else []
        )
        releases.append(Release(house.now, "not_before", "It cannot be before now."))
        for task in visit.tasks.all():
            releases += unsaid.get(task.pk, [])
            releases += [
                waits.supply_release(house, s) for s in house.supplies if task in s.tasks.all()
            ]
        if visit.window_from is not None:
            releases.append(
                Release(
                    house.clock.midnight(visit.window_from),
                    "not_before",
                    f"It is wanted no earlier than {say_date(visit.window_from)}.",
                )
            )
        yield Activity(
            f"visit:{visit.pk}",
            ref(visit),
            quarters(visit.minutes) if fixed is None else max(1, fixed[1] - fixed[0]),
            uses=(f"trade:{visit.trade_id}",),
            calendars=(f"trade:{visit.trade_id}",),
            splittable=False,
            releases=tuple(releases),
            due=None
            if visit.window_to is None
            else house.clock.midnight(visit.window_to + timedelta(days=1)),
            due_weight=WINDOW_WEIGHT,
            fixed=fixed,
        )


def inspection_activities(house: House) -> Iterable[Activity]:
    for row in house.inspections.values():
        if not inspection_in_plan(house, row):
            continue
        fixed = None
        if row.state == Inspection.State.BOOKED and row.booked_starts and row.booked_ends:
            fixed = (house.clock.floor(row.booked_starts), house.clock.ceil(row.booked_ends))
        own = row.by == Inspection.By.OWN_CHECK
        yield Activity(
            f"inspection:{row.pk}",
            ref(row),
            quarters(row.minutes) if fixed is None else max(1, fixed[1] - fixed[0]),
            uses=(CREW,) if own else (f"inspection:{row.pk}",),
            calendars=(CREW,) if own else (f"inspection:{row.pk}",),
            splittable=False,
            releases=(
                Release(house.now, "not_before", "It cannot be before now."),
                *(() if own else (waits.inspection_notice(house, row),)),
            ),
            fixed=fixed,
        )
