"""The props of a repair, from the hour they stand."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.repairs.models import Repair
from apps.trades.models import TemporaryMeasure
from apps.work.steps import lock
from renovation.errors import Problem

LOOK_EVERY_HOURS = 24
"""How often props are looked at (common practice, no source)."""


@transaction.atomic
def note_props(*, repair: Repair, at: datetime) -> Repair:
    """Note that the props stand: they are to be looked at daily, and out before boards close.

    Raises:
        Problem: `wrong-step` when they are noted already or the repair was undone.
    """
    lock(repair)
    if repair.undone_at is not None or repair.measure is not None:
        state = "undone" if repair.undone_at is not None else "propped"
        raise Problem("wrong-step", f"“{repair}” is {state} already.", state=state, allowed=[])
    joist = repair.joist
    measure = TemporaryMeasure(
        property_id=joist.floor.property_id,
        kind=TemporaryMeasure.Kind.PROP,
        where=f"Under {joist}, {joist.floor}",
        since=at,
        check_every_hours=LOOK_EVERY_HOURS,
        clear_before_task=repair.tasks.filter(floor_action="fix").first(),
    )
    measure.validate_constraints()
    measure.save()
    repair.change(measure=measure)
    return repair
