"""Making completion files: ask for one, build it, pick up what was left behind.

It is a job (`renovation.jobs`). Whoever claims its row reads the house in one transaction, builds
outside any, and moves the finished ZIP into place before it says so. Until then nothing lies under
the file's name. Old files are pruned.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from apps.inspections.models.completion import UNFINISHED_STATES, CompletionFile
from apps.property.models import Property
from renovation import jobs

KEPT_FOR = timedelta(days=30)
UNDER_WAY = ".building-"
State = CompletionFile.State


@transaction.atomic
def request_completion_file(*, house: Property, requested_by: Any) -> CompletionFile:
    """Queue a completion file, or return the one that is being made already."""
    Property.objects.select_for_update().get(pk=house.pk)
    found = CompletionFile.objects.filter(property=house, state__in=UNFINISHED_STATES).first()
    if found is not None:
        # Without beat nobody else picks up what a crash left.
        rows = CompletionFile.objects.filter(pk=found.pk)
        jobs.release_left(rows, now=timezone.now())
        jobs.hand_out(KIND, found)
        return rows.get()
    made = CompletionFile.objects.create(property=house, requested_by=requested_by)
    jobs.hand_out(KIND, made)
    return made


def build(*, completion_file_id: int) -> None:
    """Build the file that is next in turn. Safe to run twice: the second finds none."""
    jobs.work(KIND, completion_file_id)


def requeue_left() -> None:
    """Hand out again what was queued or claimed and never finished."""
    jobs.sweep(KIND, now=timezone.now())


def cancel_completion_file(*, row: CompletionFile) -> CompletionFile:
    """Stop a file that is queued or being made; nothing of it is kept."""
    jobs.cancel(row)
    return row


def build_file(row: CompletionFile) -> None:
    """Build one file beside its place, and move it there when it is whole."""
    # The PDF and picture libraries load only when a file is made.
    from apps.inspections.completion.making import make  # noqa: PLC0415

    under_way = Path(settings.COMPLETION_DIR) / f"{UNDER_WAY}{row.pk}-{row.attempts}"
    try:
        under_way.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        sha256 = make(row, under_way, told=lambda pct: jobs.note_progress(row, pct))
        size = under_way.stat().st_size
        with transaction.atomic():
            # The claim first: a build that was given up may not overwrite its successor's file.
            jobs.finish(row, state=State.READY, progress_pct=100, sha256=sha256, byte_size=size)
            under_way.replace(file_of(row))
    finally:
        with suppress(OSError):
            under_way.unlink(missing_ok=True)


def task() -> Any:
    from apps.inspections.tasks import build_completion_file  # noqa: PLC0415 (it imports this)

    return build_completion_file


def sentence(exc: Exception) -> str:
    """What the person is told of a failed build."""
    if isinstance(exc, SoftTimeLimitExceeded):
        return "It was stopped, as it took too long; the record itself is untouched."
    if isinstance(exc, OSError):
        return f"The data folder could not be read or written: {exc.strerror or 'disk error'}."
    return "The completion file stopped on an error; the record itself is untouched."


KIND = jobs.Kind(rows=CompletionFile, task=task, do=build_file, failure=sentence)


def file_of(row: CompletionFile) -> Path:
    """Where a ready completion file lies."""
    return Path(settings.COMPLETION_DIR) / f"{row.pk}.zip"


def prune(*, now: datetime) -> None:
    """Remove ZIPs that are older than a month, but the newest of each house never.

    Their rows stay, with the digest of what was given out; a new file is made for the asking. What
    a crash left half-built goes after a day.
    """
    newest: dict[int, int] = {}
    ready = CompletionFile.objects.filter(state=State.READY).order_by("pk")
    for row in ready.only("pk", "property_id"):
        newest[row.property_id] = row.pk
    for row in ready.filter(finished_at__lt=now - KEPT_FOR).exclude(pk__in=newest.values()):
        file_of(row).unlink(missing_ok=True)
    for left in Path(settings.COMPLETION_DIR).glob(f"{UNDER_WAY}*"):
        if datetime.fromtimestamp(left.stat().st_mtime, now.tzinfo) < now - timedelta(days=1):
            left.unlink(missing_ok=True)
