"""A house that comes in from a file: sent by anybody who is signed in, and theirs from then on.

It is a job (`renovation.jobs`). The row ends in the transaction that adds the house, so a house
never comes in twice, whatever was killed in between. Who the file says its people are gives nobody
here anything: their names are kept, and no more.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import UploadedFile
from django.db import DatabaseError, InterfaceError, OperationalError, transaction
from django.utils import timezone

from apps.moving import kept
from apps.moving.archive import Archive
from apps.moving.importing import Rows, import_house
from apps.moving.manifest import Refused
from apps.moving.models import UNFINISHED_STATES, HouseArrival
from apps.moving.staging import link_or_copy
from apps.moving.strange_files import refuse_strange_files
from apps.planning.routine.models import PlanningPreferences
from apps.property.models import Property
from renovation import jobs
from renovation.errors import Problem
from renovation.uploads import too_large

State = HouseArrival.State
LONGEST_NAME = 255
MOST_ROW_BYTES = 128 * 1024 * 1024
"""Rows are read into memory, where they take six times as much. Measured on the demo house: it has
0.2 MiB of them, and each plan that is kept adds 0.08."""


@transaction.atomic
def request_arrival(*, file: UploadedFile[Any], requested_by: Any) -> HouseArrival:
    """Keep what was sent, and queue it to be brought in.

    Raises:
        Problem: `too-large`; `house-arriving` while another of the same person is under way.
    """
    size = file.size or 0
    if size > settings.HOUSE_MAX_BYTES:
        raise too_large(settings.HOUSE_MAX_BYTES)
    # Of two that one person sends at once, one waits here and finds the other.
    get_user_model()._default_manager.select_for_update().get(pk=requested_by.pk)
    under_way = HouseArrival.objects.filter(
        requested_by=requested_by, state__in=UNFINISHED_STATES
    ).first()
    if under_way is not None:
        raise Problem(
            "house-arriving",
            "A house of yours is coming in already: wait for it, or stop it.",
            house_arrival=under_way.pk,
        )
    made = HouseArrival.objects.create(
        requested_by=requested_by, file_name=(file.name or "")[:LONGEST_NAME], byte_size=size
    )
    path = kept.upload_of(made)
    try:
        keep_upload(file, path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    jobs.hand_out(KIND, made)
    return made


def keep_upload(file: UploadedFile[Any], path: Path) -> None:
    """Put what was sent in its place: under a second name where it lies on the same disk."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    # A number may come again when its row did not come about.
    path.unlink(missing_ok=True)
    sent = str(getattr(file.file, "name", None) or "")
    if sent and Path(sent).is_file():
        link_or_copy(Path(sent), path)
    else:
        with path.open("wb") as target:
            target.writelines(file.chunks())


def build(*, house_arrival_id: int) -> None:
    """Bring in the house that is next in turn. Safe to run twice: the second finds none."""
    jobs.work(KIND, house_arrival_id)
    kept.tidy(now=timezone.now())


def cancel_arrival(*, row: HouseArrival) -> None:
    """Stop one that is queued or coming in; nothing of it is kept.

    Raises:
        Problem: `wrong-step` when it has ended.
    """
    jobs.cancel(row)
    transaction.on_commit(lambda: kept.tidy(now=timezone.now()))


def bring_in(row: HouseArrival) -> None:
    """Add the house that was sent, whole or not at all."""
    path = kept.upload_of(row)

    def added(house: Property) -> None:
        # No file from somewhere makes this server write to anybody.
        PlanningPreferences.objects.filter(property=house).update(brief_to="")
        jobs.finish(row, state=State.READY, progress_pct=100, property=house)

    def looked_at(archive: Archive, rows: Rows) -> None:
        # The API's answers load only when a house comes in.
        from apps.moving.legible import refuse_illegible  # noqa: PLC0415

        refuse_illegible(rows)
        refuse_strange_files(archive)

    try:
        refuse_gone(path)
        import_house(
            path, owner=row.requested_by, added=added, looked_at=looked_at,
            most_row_bytes=MOST_ROW_BYTES,
            passed=lambda share: jobs.note_progress(row, int(100 * share)),
        )  # fmt: skip
    except Refused as exc:
        if isinstance(exc.__cause__, OperationalError | InterfaceError):
            # Nothing is wrong with the file: another try will do.
            raise exc.__cause__ from exc
        if isinstance(exc.__cause__, OSError):
            raise
        # A file that is not taken is nothing that whoever runs this has to look into.
        jobs.finish(row, state=State.FAILED, failure=sentence(exc))


def refuse_gone(path: Path) -> None:
    if not path.is_file():
        raise Refused("What was sent is not in the data folder any more: send it again.")


def task() -> Any:
    from apps.moving.tasks import bring_in_house  # noqa: PLC0415 (it imports this)

    return bring_in_house


def sentence(exc: Exception) -> str:
    """What the person is told of a house that was not added."""
    cause = exc.__cause__ if isinstance(exc, Refused) else exc
    if isinstance(cause, OSError):
        return f"The data folder could not be read or written: {cause.strerror or 'disk error'}."
    if isinstance(cause, DatabaseError):
        return "What is in the file does not fit together; nothing was added."
    if isinstance(exc, Refused):
        return str(exc)
    if isinstance(exc, SoftTimeLimitExceeded):
        return "It was stopped, as it took too long; nothing was added."
    return "Bringing the house in stopped on an error; nothing was added."


KIND = jobs.Kind(rows=HouseArrival, task=task, do=bring_in, failure=sentence)
