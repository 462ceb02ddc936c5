"""How far each need is planned or cut."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Count, Q

from apps.timber.loading_cuts import in_force
from apps.timber.models import Need

State = Need.State


def count_needs(needs: Iterable[Need]) -> None:
    """Set the state of needs by the cuts of the plans in force.

    Met once as many are cut as are wanted; planned while any is planned or cut; else open. What
    was dropped, or met by hand, stays so.
    """
    counting = in_force("cuts__")
    asked = Need.objects.filter(pk__in=[need.pk for need in needs])
    # Two plans may have parts of one need: who counts must count what the other has done.
    list(asked.select_for_update(no_key=True).order_by("pk"))
    rows = asked.annotate(
        planned_count=Count("cuts", filter=counting),
        made_count=Count("cuts", filter=counting & Q(cuts__made_at__isnull=False)),
    )
    for need in rows:
        if need.state == State.DROPPED or (need.state == State.MET and need.state_reason):
            continue
        state = State.OPEN
        if need.made_count >= need.quantity:
            state = State.MET
        elif need.planned_count:
            state = State.PLANNED
        if need.state != state:
            need.change(state=state)
