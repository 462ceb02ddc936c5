"""The crew's finished tasks of one house, as the history wants them."""

from __future__ import annotations

from typing import Any

from django.db.models import Sum

from apps.planning.history import Finished, Pace, paces
from apps.planning.pert import Estimate
from apps.property.models import Property
from apps.work.models import Task


def house_paces(house: Property) -> dict[str, Pace]:
    """The crew's pace by kind of work. One query.

    Counted are finished tasks of the crew with time noted on them. What a trade did, and what
    nobody noted time on, says nothing of the crew's estimates.
    """
    rows = (
        Task.objects.filter(package__property=house, status=Task.Status.DONE, trade=None)
        .annotate(worked=Sum("time_entries__minutes"))
        .filter(worked__gt=0)
        .order_by("pk")
        .values_list(
            "package__kind", "low_minutes", "likely_minutes", "high_minutes", "worked"
        )
    )  # fmt: skip
    return paces(
        Finished(kind, Estimate(low, likely, high), worked)
        for kind, low, likely, high, worked in rows
    )


def pace_dict(pace: Pace) -> dict[str, Any]:
    """A pace as answers have it."""
    return {
        "kind": pace.kind,
        "factor": round(pace.factor, 3),
        "low": round(pace.low, 3),
        "high": round(pace.high, 3),
        "tasks": pace.tasks,
        "minutes": round(pace.minutes),
        "expected_minutes": round(pace.expected_minutes),
        "sentence": pace.sentence,
    }
