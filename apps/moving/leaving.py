"""A house's file: asked for by an owner, made, kept for some days, removed.

It is a job (`renovation.jobs`), as completion files are. The file holds everything of the house and
the names of its people, so it is the owners' alone.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from apps.inspections.verify import sha256_of
from apps.moving import kept
from apps.moving.exporting import export_house
from apps.moving.manifest import Refused
from apps.moving.models import UNFINISHED_STATES, HouseFile
from apps.property.models import Property
from apps.property.services import refuse_others_than_owners
from renovation import jobs

WRITTEN_PCT = 95
State = HouseFile.State


@transaction.atomic
def request_house_file(*, house: Property, requested_by: Any) -> HouseFile:
    """Queue a house's file, or return the one that is being made already.

    Raises:
        Problem: `owners-only`.
    """
    refuse_others_than_owners(house=house, by=requested_by)
    Property.objects.select_for_update().get(pk=house.pk)
    found = HouseFile.objects.filter(property=house, state__in=UNFINISHED_STATES).first()
    if found is not None:
        # What a crash left need not wait for the sweep.
        rows = HouseFile.objects.filter(pk=found.pk)
        jobs.release_left(rows, now=timezone.now())
        jobs.hand_out(KIND, found)
        return rows.get()
    made = HouseFile.objects.create(property=house, requested_by=requested_by)
    jobs.hand_out(KIND, made)
    return made


def build(*, house_file_id: int) -> None:
    """Make the file that is next in turn. Safe to run twice: the second finds none."""
    jobs.work(KIND, house_file_id)


def cancel_house_file(*, row: HouseFile, by: Any) -> None:
    """Stop one that is queued or being made; nothing of it is kept.

    Raises:
        Problem: `owners-only`, or `wrong-step` when it has ended.
    """
    refuse_others_than_owners(house=row.property, by=by)
    jobs.cancel(row)


@transaction.atomic
def remove_house_file(*, row: HouseFile, by: Any) -> None:
    """Take a row and its file away; what is being made is made in vain.

    Raises:
        Problem: `owners-only`.
    """
    refuse_others_than_owners(house=row.property, by=by)
    path = kept.file_of(row)
    row.delete()
    transaction.on_commit(lambda: path.unlink(missing_ok=True))


def make(row: HouseFile) -> None:
    """Write one beside its place, and move it there when it is whole."""
    under_way = kept.under_way(row)
    told = 0

    def passed(share: float) -> None:
        nonlocal told
        # Begun anew when evidence was removed meanwhile, it would fall.
        told = max(told, int(WRITTEN_PCT * share))
        jobs.note_progress(row, told)

    try:
        Path(settings.HOUSE_FILES_DIR).mkdir(mode=0o700, parents=True, exist_ok=True)
        export_house(row.property, under_way, passed=passed)
        sha256, size = sha256_of(under_way), under_way.stat().st_size
        with transaction.atomic():
            # The claim first: one that was given up may not overwrite its successor's file.
            jobs.finish(row, state=State.READY, progress_pct=100, sha256=sha256, byte_size=size)
            under_way.replace(kept.file_of(row))
    finally:
        under_way.unlink(missing_ok=True)


def task() -> Any:
    from apps.moving.tasks import make_house_file  # noqa: PLC0415 (it imports this)

    return make_house_file


def sentence(exc: Exception) -> str:
    """What the person is told of a file that was not made."""
    cause = exc.__cause__ if isinstance(exc, Refused) else exc
    if isinstance(cause, OSError):
        return f"The data folder could not be read or written: {cause.strerror or 'disk error'}."
    if isinstance(exc, Refused):
        return str(exc)
    if isinstance(exc, SoftTimeLimitExceeded):
        return "It was stopped, as it took too long; the house itself is untouched."
    return "The house's file stopped on an error; the house itself is untouched."


KIND = jobs.Kind(rows=HouseFile, task=task, do=make, failure=sentence)
