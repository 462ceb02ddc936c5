"""Background work. Ids in, nothing out: the row carries the answer."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from apps.moving import arriving, kept, leaving
from renovation import jobs

# A house of years with thousands of photos: minutes.
SOFT_SECONDS, HARD_SECONDS = 1800, 1860


@shared_task(soft_time_limit=SOFT_SECONDS, time_limit=HARD_SECONDS)
def make_house_file(house_file_id: int) -> None:
    """Make the queued house file that is next in turn; this one woke us."""
    leaving.build(house_file_id=house_file_id)


@shared_task(soft_time_limit=SOFT_SECONDS, time_limit=HARD_SECONDS)
def bring_in_house(house_arrival_id: int) -> None:
    """Bring in the queued house that is next in turn; this one woke us."""
    arriving.build(house_arrival_id=house_arrival_id)


@shared_task
def requeue_left_houses() -> None:
    """Pick up what a crash left behind, and remove what is not needed any more."""
    now = timezone.now()
    jobs.sweep(leaving.KIND, now=now)
    jobs.sweep(arriving.KIND, now=now)
    kept.tidy(now=now)


@shared_task
def prune_house_files() -> None:
    """Remove house files after some days, and what a crash left."""
    kept.prune(now=timezone.now())
