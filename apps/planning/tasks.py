"""Background work. Ids in, nothing out: the row carries the answer."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from apps.planning import services
from apps.planning.routine import brief, measures, replanning

# A plan takes at most 120 s of effort, and a long house as much again before and after it.
SOFT_SECONDS, HARD_SECONDS = 900, 960


@shared_task(soft_time_limit=SOFT_SECONDS, time_limit=HARD_SECONDS)
def solve_plan(plan_id: int) -> None:
    """Solve the queued plan that is next in turn; this one woke us."""
    services.solve(plan_id=plan_id)


@shared_task
def requeue_left_plans() -> None:
    """Pick up plans that a crash left behind."""
    services.requeue_left_plans()


@shared_task
def replan_edited() -> None:
    """Plan again where the record was edited a while ago and the house asks for it."""
    replanning.replan_edited(now=timezone.now())


@shared_task
def replan_at_night() -> None:
    """Plan again where it is four in the morning."""
    replanning.replan_at_night(now=timezone.now())


@shared_task
def send_briefs() -> None:
    """Send the morning brief where its time has come."""
    brief.send_briefs(now=timezone.now())


@shared_task
def remind_of_measures() -> None:
    """Remind of temporary measures that nobody looked at in time."""
    measures.remind(now=timezone.now())
