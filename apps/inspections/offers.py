"""Deviations that the record itself suggests."""

from __future__ import annotations

from typing import Any

from django.db.models import F, Q

from apps.floors.models import Joist
from apps.property.models import Property


def offered_deviations(house: Property) -> list[dict[str, Any]]:
    """A draft's body for each joist that is not of its floor's specified section and that no
    deviation is about yet. A missing joist is none of another section. One query."""
    joists = (
        Joist.objects.filter(floor__property=house, deviations=None)
        .exclude(condition=Joist.Condition.MISSING)
        .filter(
            ~Q(breadth_mm=F("floor__joist_breadth_mm")) | ~Q(depth_mm=F("floor__joist_depth_mm"))
        )
        .select_related("floor")
        .order_by("floor", "pk")
    )
    return [
        {
            "property": house.pk,
            "floor": joist.floor_id,
            "joist": joist.pk,
            "specified": (
                f"{joist.mark}: {joist.floor.joist_breadth_mm} × {joist.floor.joist_depth_mm} mm"
            ),
            "built": f"{joist.mark}: {joist.breadth_mm} × {joist.depth_mm} mm",
        }
        for joist in joists
    ]
