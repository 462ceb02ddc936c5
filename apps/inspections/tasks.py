"""Background work. Ids in, nothing out: the row carries the answer."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from apps.inspections.completion import services
from apps.inspections.evidence import services as evidence


@shared_task(acks_late=True, ignore_result=True)
def build_completion_file(completion_file_id: int) -> None:
    """Build one queued completion file."""
    services.build(completion_file_id=completion_file_id)


@shared_task(ignore_result=True)
def requeue_left_completion_files() -> None:
    """Pick up completion files that a crash left behind."""
    services.requeue_left()


@shared_task(ignore_result=True)
def sweep_evidence() -> None:
    """Remove evidence files that no row names any more."""
    evidence.sweep(now=timezone.now())
