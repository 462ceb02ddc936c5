"""What a house wants to happen by itself: as set, or the defaults."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from apps.planning.models import PlanningPreferences
from apps.property.models import Property
from apps.property.services import refuse_others_than_owners


def preferences_of(house: Property) -> PlanningPreferences:
    """The house's preferences. Those of a house that set none are not kept yet."""
    found = PlanningPreferences.objects.filter(property=house).first()
    return found or PlanningPreferences(property=house)


@transaction.atomic
def set_preferences(row: PlanningPreferences, *, by: Any, **values: Any) -> PlanningPreferences:
    """Set some of them. Whoever wants no plans after edits any more has none due.

    Raises:
        Problem: `owners-only`: it says where mail about the house goes.
    """
    refuse_others_than_owners(house=row.property, by=by)
    row, _ = PlanningPreferences.objects.get_or_create(property=row.property)
    if values.get("replans_after_edits") is False:
        values |= {"edited_at": None, "replan_at": None}
    row.change(**values)
    return row
