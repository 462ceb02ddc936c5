"""Background work. Ids in, nothing out: the cutting plan's row carries the answer."""

from __future__ import annotations

from celery import shared_task

from apps.timber.services import cutting

# The cutter is given at most 60 s.
SOFT_SECONDS, HARD_SECONDS = 300, 360


@shared_task(soft_time_limit=SOFT_SECONDS, time_limit=HARD_SECONDS)
def work_out_cutting_plan(plan_id: int) -> None:
    """Work out the queued cutting plan that is next in turn; this one woke us."""
    cutting.solve(plan_id=plan_id)


@shared_task
def requeue_left_cutting_plans() -> None:
    """Pick up cutting plans that a crash left behind."""
    cutting.requeue_left_plans()
