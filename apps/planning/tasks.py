"""Background work. Ids in, nothing out: the plan's row carries the answer."""

from __future__ import annotations

from celery import shared_task

from apps.planning import services


@shared_task(acks_late=True, ignore_result=True)
def solve_plan(plan_id: int) -> None:
    """Solve one queued plan."""
    services.solve(plan_id=plan_id)


@shared_task(ignore_result=True)
def requeue_left_plans() -> None:
    """Pick up plans that a crash left behind."""
    services.requeue_left_plans()
