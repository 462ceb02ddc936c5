"""When a plan does what: from its stints to tasks, visits and looks."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from apps.planning.models import Plan
from apps.trades.models import Visit


def plan_spans(plan: Plan | None) -> dict[str, tuple[datetime, datetime]]:
    """Planned start and end of each activity of a plan, and of tasks through their visits."""
    if plan is None:
        return {}
    spans: dict[str, tuple[datetime, datetime]] = {}
    # Columns, not objects: a long plan has thousands of stints, and most lists ask for them.
    columns = ("task_id", "visit_id", "inspection_id", "starts", "ends")
    stints = plan.stints.order_by().values_list(*columns)
    for task_id, visit_id, inspection_id, starts, ends in stints:
        key = (
            f"task:{task_id}" if task_id
            else f"visit:{visit_id}" if visit_id
            else f"inspection:{inspection_id}"
        )  # fmt: skip
        first, last = spans.get(key, (starts, ends))
        spans[key] = (min(first, starts), max(last, ends))
    through = Visit.tasks.through.objects.filter(visit__property=plan.property_id)
    for visit_id, task_id in through.values_list("visit_id", "task_id"):
        if f"visit:{visit_id}" in spans:
            spans.setdefault(f"task:{task_id}", spans[f"visit:{visit_id}"])
    return spans


def task_starts(plan: Plan | None) -> dict[int, datetime]:
    """When each task that has a place begins."""
    return {
        int(key.partition(":")[2]): span[0]
        for key, span in plan_spans(plan).items()
        if key.startswith("task:")
    }


def task_days(plan: Plan) -> dict[int, date]:
    """The day on the house's clock on which each task begins."""
    zone = ZoneInfo(plan.property.timezone)
    return {pk: starts.astimezone(zone).date() for pk, starts in task_starts(plan).items()}
