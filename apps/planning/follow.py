"""Following the day: something was marked, and the rest of the plan moves at once.

Nothing happens by itself. Whoever marks a task late, done or half done asks for the plan
again, with little effort: it starts from the plan before and is there in a moment.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from apps.planning.models import Plan
from apps.planning.services import current_plan, request_plan
from apps.property.models import Property

LEAST_SECONDS = 0.1
USUAL_DAYS = 28


def follow_day(*, house: Property, as_of: datetime, requested_by: Any) -> Plan:
    """Plan the rest again with little effort, as far ahead as the current plan looks.

    Solved on return unless a worker has to do it.
    """
    before = current_plan(house)
    plan = request_plan(
        house=house,
        as_of=as_of,
        horizon_days=USUAL_DAYS if before is None else before.horizon_days,
        seconds=LEAST_SECONDS,
        quick=True,
        requested_by=requested_by,
    )
    plan.refresh_from_db()
    return plan
