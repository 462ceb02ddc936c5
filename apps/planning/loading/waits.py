"""Times before which something cannot start, each with its sentence."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta

from apps.inspections.models import Condition, Inspection
from apps.inspections.notices import working_days_after
from apps.planning.clock import say_date
from apps.planning.floor_order import FloorOrder
from apps.planning.loading.house import House, blocked_tasks, inspection_in_plan, ref
from apps.planning.problem import Release
from apps.timber.wet import WetTimber
from apps.work.models import Supply, Task, Trade


def drying_still(house: House) -> dict[int, list[Release]]:
    """Waits that began with a task already done."""
    releases: dict[int, list[Release]] = defaultdict(list)
    for link in house.links:
        before = house.tasks[link.before_id]
        since = before.started_at if link.kind in {"SS", "SF"} else before.finished_at
        if since and link.min_lag_minutes and link.kind in {"FS", "SS"}:
            at = house.clock.ceil(since + timedelta(minutes=link.min_lag_minutes))
            if at > house.now:
                sentence = link.reason or f"{before} has to rest first."
                releases[link.after_id].append(Release(at, "drying", sentence, (ref(before),)))
    return releases


def unanswered(house: House) -> dict[int, list[Release]]:
    """Tasks that wait for what only a person can say: a sign-off, a condition cleared."""
    waits: dict[int, list[Release]] = defaultdict(list)
    for row in house.inspections.values():
        if row.state == Inspection.State.BOOKED and not inspection_in_plan(house, row):
            sentence = f"{row} was booked for a day that has passed, and no sign-off is recorded."
            for task_id in blocked_tasks(house, row):
                waits[task_id].append(Release(house.horizon, "sign_off", sentence, (ref(row),)))
    for condition in house.conditions:
        for task in condition.blocks.all():
            waits[task.pk].append(condition_release(house, condition))
    return waits


def condition_release(house: House, condition: Condition) -> Release:
    """A condition is counted on for the day after it is due; overdue or undated it has no day."""
    of = condition.sign_off.inspection
    said = f"The condition “{condition}” of “{of}” is to be cleared first"
    due_on = condition.due_on
    if due_on is None or due_on < house.clock.on(house.now):
        return Release(house.horizon, "sign_off", f"{said}.", (ref(condition), ref(of)))
    at = house.clock.midnight(due_on + timedelta(days=1))
    return Release(at, "sign_off", f"{said}, by {say_date(due_on)}.", (ref(condition), ref(of)))


def task_releases(
    house: House,
    task: Task,
    key: str,
    order: FloorOrder,
    unsaid: dict[int, list[Release]],
    drying: dict[int, list[Release]],
) -> tuple[Release, ...]:
    found = [
        Release(house.now, "not_before", "It cannot be done before now."),
        *order.releases.get(key, ()),
        *unsaid.get(task.pk, ()),
        *drying.get(task.pk, ()),
    ]
    if task.earliest_start is not None:
        at = house.clock.ceil(task.earliest_start)
        found.append(
            Release(at, "not_before", f"It was set to start no earlier than {house.clock.say(at)}.")
        )
    found += [supply_release(house, s) for s in house.supplies if task in s.tasks.all()]
    found += [timber_release(house, wet) for wet in house.wet if wet.task_id == task.pk]
    return tuple(found)


def timber_release(house: House, wet: WetTimber) -> Release:
    """Not before the day its piece is likely to be dry; one that never will be has no day."""
    by = (ref(wet.piece), ref(wet.need))
    if wet.dry_on is None:
        return Release(house.horizon, "timber_wet", wet.sentence, by)
    return Release(house.clock.midnight(wet.dry_on), "timber_wet", wet.sentence, by)


def supply_release(house: House, supply: Supply) -> Release:
    """Not before the delivery; one that is overdue or undated has no time to plan with."""
    expected = supply_expected(house, supply)
    if expected is None:
        sentence = f"{supply} has no delivery date."
        return Release(house.horizon, "supply", sentence, (ref(supply),))
    if expected <= house.now:
        # Overdue: tomorrow at the earliest, and the alert says to ring.
        tomorrow = house.clock.midnight(house.clock.on(house.now) + timedelta(days=1))
        return Release(tomorrow, "supply", f"{supply} is overdue.", (ref(supply),))
    return Release(
        expected, "supply", f"{supply} is expected {house.clock.say(expected)}.", (ref(supply),)
    )


def supply_expected(house: House, supply: Supply) -> int | None:
    if supply.expected_on is None:
        return None
    local = datetime.combine(supply.expected_on, supply.expected_at, house.clock.zone)
    return house.clock.ceil(local)


def trade_notice(house: House, trade: Trade) -> Release:
    earliest = house.clock.on(house.now) + timedelta(days=trade.notice_days)
    return Release(
        house.clock.midnight(earliest), "notice",
        f"{trade} needs {trade.notice_days} days' notice.", (ref(trade),),
    )  # fmt: skip


def inspection_notice(house: House, row: Inspection) -> Release:
    """The first day on which the look may be: notice given already, or today."""
    given = house.clock.local(row.notified_at or house.clock.at(house.now)).date()
    first = working_days_after(given, row.notice_working_days, house.days_off)
    word = "day" if row.notice_working_days == 1 else "days"
    return Release(
        house.clock.midnight(first), "notice",
        f"{row} needs {row.notice_working_days} working {word}' notice.", (ref(row),),
    )  # fmt: skip
