"""Background work. Ids in, nothing out: the row carries the answer."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from apps.inspections.completion import services
from apps.inspections.evidence import services as evidence

# A record of years with thousands of photos: minutes.
SOFT_SECONDS, HARD_SECONDS = 1800, 1860


@shared_task(soft_time_limit=SOFT_SECONDS, time_limit=HARD_SECONDS)
def build_completion_file(completion_file_id: int) -> None:
    """Build the queued completion file that is next in turn; this one woke us."""
    services.build(completion_file_id=completion_file_id)


@shared_task
def requeue_left_completion_files() -> None:
    """Pick up completion files that a crash left behind."""
    services.requeue_left()


@shared_task
def prune_completion_files() -> None:
    """Remove completion files that are old and not the newest of their house."""
    services.prune(now=timezone.now())


@shared_task
def sweep_evidence() -> None:
    """Remove evidence files that no row names any more."""
    evidence.sweep(now=timezone.now())
