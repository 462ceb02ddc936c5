"""Plans that nobody asks for: some time after edits, and at four in the morning."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from apps.planning.models import UNFINISHED, Plan
from apps.planning.routine.models import PlanningPreferences
from apps.planning.routine.times import day_due, moment, replan_at
from apps.planning.services import current_plan, request_plan
from apps.property.models import Property

log = logging.getLogger(__name__)

NIGHT = time(4)
"""When nobody works and the day's record is in. Common practice, no source."""
LATE = timedelta(days=1)
"""A server that was down at four, or a laptop that slept, plans when it is up again, on that day:
whoever could not see the plan is not disturbed by another."""
LONGEST_WAITS = 6
USUAL_DAYS = 28


def note_edit(*, house_id: int, now: datetime) -> None:
    """Somebody changed something: a plan is due after a pause, if the house asks for it."""
    rows = PlanningPreferences.objects.filter(property=house_id, replans_after_edits=True)
    wants = rows.first()
    if wants is None:
        return
    first, delay = wants.edited_at or now, timedelta(minutes=wants.replan_delay_minutes)
    # Not an edit of the preferences: their version stays.
    rows.update(edited_at=first, replan_at=replan_at(now, first, delay, waits=LONGEST_WAITS))


def replan_edited(*, now: datetime) -> None:
    """Plan again where it is due: several edits within the pause give one plan."""
    due = PlanningPreferences.objects.filter(replans_after_edits=True, replan_at__lte=now)
    for wants in due.select_related("property"):
        house = wants.property
        waiting = asked_for(house)
        if waiting.filter(state=Plan.State.SOLVING).exists():
            # It was read before the edit, perhaps: look again when it is done.
            continue
        needed = not waiting.exists() and differs(house, now=now)
        with transaction.atomic():
            taken = due.filter(pk=wants.pk, replan_at=wants.replan_at).update(
                replan_at=None, edited_at=None
            )
            if taken and needed:
                plan_again(house, now=now, because=Plan.Because.EDITS)


def replan_at_night(*, now: datetime) -> None:
    """Plan again from four in the morning on, once a night, in houses that have a plan; not where
    somebody has planned since."""
    for house, on in houses_at(NIGHT, now=now):
        if asked_for(house).exists():
            continue
        try:
            plan_again(house, now=now, because=Plan.Because.NIGHT, night_of=on)
        except IntegrityError:
            log.info("%s has its plan of the night already", house)


def houses_at(at: time, *, now: datetime) -> Iterator[tuple[Property, object]]:
    """Houses with a plan, but none since this time came on their clock, and their day."""
    zones = Property.objects.order_by().values_list("timezone", flat=True).distinct()
    for name in zones:
        try:
            zone = ZoneInfo(name)
        except (KeyError, ValueError, OSError):
            log.warning("no such time zone here: %s", name)
            continue
        on = day_due(now, zone, at, within=LATE)
        if on is None:
            continue
        planned = Plan.objects.filter(
            state=Plan.State.READY, what_if__isnull=True, quick=False,
            as_of__range=(moment(on, at, zone), now),
        )  # fmt: skip
        houses = Property.objects.filter(timezone=name, plans__is_current=True)
        houses = houses.exclude(planning_preferences__replans_at_night=False)
        houses = houses.exclude(plans__night_of=on).exclude(pk__in=planned.values("property"))
        for house in houses.order_by("pk"):
            yield house, on


def asked_for(house: Property) -> QuerySet[Plan]:
    """Full plans of a house that are on their way."""
    return Plan.objects.filter(
        property=house, state__in=UNFINISHED, what_if__isnull=True, quick=False
    )


def plan_again(house: Property, *, now: datetime, **fields: object) -> Plan:
    """A plan as far ahead as the current one, from now on."""
    before = current_plan(house)
    return request_plan(
        house=house,
        as_of=now,
        horizon_days=USUAL_DAYS if before is None else before.horizon_days,
        seconds=settings.PLAN_SECONDS,
        **fields,  # type: ignore[arg-type]
    )


def differs(house: Property, *, now: datetime) -> bool:
    """Whether the record differs from what the current plan was made from."""
    # The geometry library takes a while to load: only when a plan may be due.
    from apps.planning.changed import edited_since  # noqa: PLC0415

    before = current_plan(house)
    return before is None or edited_since(house, before, now=now)
