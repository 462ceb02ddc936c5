"""Making completion files: ask for one, build it, pick up what was left behind.

The row is its own outbox, as a plan's is. Whoever claims it (a conditional update, so only one
does) reads the house in one transaction, builds outside any, and moves the finished ZIP into
place before it says so. Until then nothing lies under the file's name.
"""

from __future__ import annotations

import logging
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from apps.inspections.models.completion import UNFINISHED_STATES, CompletionFile
from apps.property.models import Property

log = logging.getLogger(__name__)

# A build writes its progress after each file; this long without any, its worker is gone.
LEFT_AFTER = timedelta(minutes=10)
State = CompletionFile.State


class GivenUp(Exception):
    """This build was handed to another worker meanwhile."""


@transaction.atomic
def request_completion_file(*, house: Property, requested_by: Any) -> CompletionFile:
    """Queue a completion file, or return the one that is being made already."""
    Property.objects.select_for_update().get(pk=house.pk)
    found = CompletionFile.objects.filter(property=house, state__in=UNFINISHED_STATES).first()
    if found is not None:
        left = CompletionFile.objects.filter(pk=found.pk)
        requeue(left)
        return left.get()
    made = CompletionFile.objects.create(property=house, requested_by=requested_by)
    hand_out(made.pk)
    return made


def hand_out(completion_file_id: int) -> None:
    from apps.inspections.tasks import build_completion_file  # noqa: PLC0415 (it imports this)

    transaction.on_commit(lambda: build_completion_file.delay(completion_file_id))


@transaction.atomic
def requeue_left() -> None:
    """Hand out again what was queued or claimed and never finished."""
    requeue(CompletionFile.objects.all())


def requeue(rows: Any) -> None:
    limit = timezone.now() - LEFT_AFTER
    rows.filter(state=State.BUILDING, progressed_at__lt=limit).update(
        state=State.QUEUED, progress_pct=0, version=F("version") + 1
    )
    left = rows.filter(state=State.QUEUED).filter(
        Q(requested_at__lt=limit) | Q(progressed_at__lt=limit)
    )
    for completion_file_id in left.values_list("pk", flat=True):
        hand_out(completion_file_id)


def build(*, completion_file_id: int) -> None:
    """Build one queued completion file. Safe to run twice: the second finds nothing to claim."""
    # The PDF and picture libraries load only when a file is made.
    from apps.inspections.completion.making import make  # noqa: PLC0415

    claimed = CompletionFile.objects.filter(pk=completion_file_id, state=State.QUEUED).update(
        state=State.BUILDING,
        progressed_at=timezone.now(),
        attempts=F("attempts") + 1,
        version=F("version") + 1,
    )
    if not claimed:
        return
    row = CompletionFile.objects.select_related("property").get(pk=completion_file_id)
    under_way = Path(settings.COMPLETION_DIR) / f".building-{row.pk}-{row.attempts}"
    try:
        under_way.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        sha256 = make(row, under_way, told=lambda pct: note_progress(row, pct))
        size = under_way.stat().st_size
        with transaction.atomic():
            # The claim first: a build that was given up may not overwrite its successor's file.
            finish(row, state=State.READY, progress_pct=100, sha256=sha256, byte_size=size)
            under_way.replace(file_of(row))
    except GivenUp:
        log.warning("completion file %s was handed to another worker", row.pk)
    except Exception as exc:
        # Whatever went wrong, the person gets a sentence; the log keeps the rest.
        log.exception("completion file %s failed", row.pk)
        with suppress(GivenUp):
            finish(row, state=State.FAILED, failure=sentence(exc))
    finally:
        with suppress(OSError):
            under_way.unlink(missing_ok=True)


def note_progress(row: CompletionFile, pct: int) -> None:
    """Say how far the build is, and that its worker is alive."""
    if pct == row.progress_pct:
        return
    row.progress_pct = pct
    change_ours(row, progress_pct=pct, progressed_at=timezone.now())


def finish(row: CompletionFile, **values: Any) -> None:
    change_ours(row, finished_at=timezone.now(), **values)


def change_ours(row: CompletionFile, **values: Any) -> None:
    """Change the row if this build still is the one that has it.

    Raises:
        GivenUp: it took too long and was handed to another worker.
    """
    ours = CompletionFile.objects.filter(pk=row.pk, state=State.BUILDING, attempts=row.attempts)
    if not ours.update(version=F("version") + 1, **values):
        raise GivenUp


def sentence(exc: Exception) -> str:
    """What the person is told of a failed build."""
    if isinstance(exc, OSError):
        return f"The data folder could not be read or written: {exc.strerror or 'disk error'}."
    return "The completion file stopped on an error; the record itself is untouched."


def file_of(row: CompletionFile) -> Path:
    """Where a ready completion file lies."""
    return Path(settings.COMPLETION_DIR) / f"{row.pk}.zip"
