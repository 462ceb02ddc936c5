"""Background work. Ids in, nothing out: the cutting plan's row carries the answer."""

from __future__ import annotations

from celery import shared_task

from apps.timber.services import cutting


@shared_task(acks_late=True, ignore_result=True)
def work_out_cutting_plan(plan_id: int) -> None:
    """Work out one queued cutting plan."""
    cutting.solve(plan_id=plan_id)


@shared_task(ignore_result=True)
def requeue_left_cutting_plans() -> None:
    """Pick up cutting plans that a crash left behind."""
    cutting.requeue_left_plans()
