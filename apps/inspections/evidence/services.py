"""Keeping, relinking and removing evidence: a row and its file come and go together.

The order makes it safe. A file is put in its place before its row is committed, so no row
ever names a file that is not there; when the row does not come about, the file goes again. A
file goes only after its last row is gone. What a crash leaves between the two is a file that
nobody names, and `sweep` removes it.
"""

from __future__ import annotations

import hashlib
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import PurePath
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection, transaction

from apps.inspections.evidence import store
from apps.inspections.evidence.sniff import BrokenFile, FileType, UnknownType, sniff
from apps.inspections.models import Evidence, Inspection
from apps.property.models import Property
from renovation.errors import Problem

# A decoded photo takes some 200 MB; one at a time is fast enough for one house.
ONE_AT_A_TIME = threading.Lock()
# An upload over a slow line is done by then.
LONGEST_UPLOAD = timedelta(hours=6)
SUFFIXES = {"image/jpeg": ".jpg", "image/png": ".png", "application/pdf": ".pdf"}
NOT_IN_A_NAME = re.compile(r"[^\w .()-]+")
# What ties evidence to what was signed, and may not be taken back after it.
TIES = ("inspection", "requirement", "condition", "deviation")


@dataclass(frozen=True, slots=True)
class Looked:
    """A file that was looked into and found good, as it will be kept."""

    content: bytes
    content_type: str
    sha256: str
    width_px: int | None = None
    height_px: int | None = None
    taken_at: datetime | None = None
    thumbnail: bytes | None = None


def look_into(*, content: bytes, house: Property) -> Looked:
    """Find out what a file is and make it fit to be kept. Takes a second for a large photo:
    call it outside of a transaction.

    Raises:
        Problem: `unsupported-file`, 415, when it is no photo and no PDF; `broken-file`, 400,
            when it is damaged, too large to decode, or something else as well.
    """
    try:
        with ONE_AT_A_TIME:
            return looked(content, ZoneInfo(house.timezone))
    except UnknownType as exc:
        raise file_problem("unsupported-file", str(exc), 415) from exc
    except BrokenFile as exc:
        raise file_problem("broken-file", str(exc), 400) from exc


def looked(content: bytes, zone: ZoneInfo) -> Looked:
    file_type = sniff(content)
    if file_type == FileType.PDF:
        from apps.inspections.evidence.pdfs import check_document  # noqa: PLC0415 (pypdf, 0.2 s)

        check_document(content)
        return Looked(content, file_type, hashlib.sha256(content).hexdigest())
    from apps.inspections.evidence.images import keep_picture  # noqa: PLC0415 (Pillow, 0.1 s)

    picture = keep_picture(content, file_type, zone)
    return Looked(
        content=picture.content,
        content_type=picture.content_type,
        sha256=hashlib.sha256(picture.content).hexdigest(),
        width_px=picture.width_px,
        height_px=picture.height_px,
        taken_at=picture.taken_at,
        thumbnail=picture.thumbnail,
    )


def file_problem(code: str, detail: str, status_code: int) -> Problem:
    errors = [{"pointer": "/file", "detail": detail}]
    return Problem(code, detail, status_code=status_code, errors=errors)


def keep_evidence(
    *, looked: Looked, house: Property, title: str, uploaded_by: Any, original_name: str = "",
    requirement: str = "", inspection: Any = None, condition: Any = None, deviation: Any = None,
    certificate: Any = None, finding: Any = None,
) -> Evidence:  # fmt: skip
    """Keep a file that was looked into, and say what it is evidence of.

    Inside somebody else's transaction, let that one be an `all_or_nothing` too.
    """
    with all_or_nothing(looked.sha256):
        made = Evidence.objects.create(
            property=house, title=title, uploaded_by=uploaded_by, original_name=original_name,
            requirement=requirement, inspection=inspection, condition=condition,
            deviation=deviation, certificate=certificate, finding=finding,
            kind="photo" if looked.thumbnail else "document",
            content_type=looked.content_type, byte_size=len(looked.content),
            sha256=looked.sha256, file_name=offered_name(original_name, looked.content_type),
            taken_at=looked.taken_at, width_px=looked.width_px, height_px=looked.height_px,
        )  # fmt: skip
        hold_file(looked.sha256)
        store.place(looked.sha256, looked.content, looked.thumbnail)
    # The database itself notes when.
    made.refresh_from_db(fields=["uploaded_at"])
    return made


def offered_name(original_name: str, content_type: str) -> str:
    """The name to save it under: the one it came under, without what a file system or a header
    might trip over, and with the ending of what it is.
    """
    stem = NOT_IN_A_NAME.sub("_", PurePath(original_name).stem).strip(" ._")[:80]
    return (stem or "evidence") + SUFFIXES[content_type]


@contextmanager
def all_or_nothing(sha256: str) -> Iterator[None]:
    """A transaction that, when it fails, takes the file it had put in place with it."""
    try:
        with transaction.atomic():
            yield
    except BaseException:
        remove_unless_named(sha256)
        raise


def hold_file(sha256: str) -> None:
    """Until the transaction ends nobody else puts or removes this file.

    SQLite has one writer anyway; PostgreSQL gets a lock of that number (64 bits of the
    digest: two files that share them only wait for each other).
    """
    if connection.vendor == "postgresql":
        number = int(sha256[:16], 16) - 2**63
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])


@transaction.atomic
def remove_unless_named(sha256: str) -> None:
    """Remove a file that no row names any more, of whatever house."""
    hold_file(sha256)
    if not Evidence.objects.filter(sha256=sha256).exists():
        store.remove(sha256)


@transaction.atomic
def relink_evidence(*, evidence: Evidence, **values: Any) -> Evidence:
    """Change the caption or what it is evidence of.

    Raises:
        Problem: `evidence-signed-off` when it would leave what was signed off.
    """
    if any(
        name in values and getattr(evidence, name) and values[name] != getattr(evidence, name)
        for name in TIES
    ):
        refuse_signed_off(evidence, "stays linked as it was")
    evidence.change(**values)
    return evidence


@transaction.atomic
def remove_evidence(*, evidence: Evidence) -> None:
    """Remove a row; its file goes once no other row names it.

    Raises:
        Problem: `evidence-signed-off` when a sign-off relies on it.
    """
    refuse_signed_off(evidence, "stays on file")
    sha256 = evidence.sha256
    evidence.delete()
    transaction.on_commit(lambda: remove_unless_named(sha256))


def refuse_signed_off(evidence: Evidence, what: str) -> None:
    """Refuse to touch evidence behind a sign-off, a condition that was met, or a decided deviation.

    Raises:
        Problem: `evidence-signed-off`.
    """
    if evidence.inspection_id is not None:
        # Nobody signs it off while this is looked at.
        looked_at = Inspection.objects.select_for_update().get(pk=evidence.inspection_id)
        if looked_at.sign_offs.exists():
            raise Problem(
                "evidence-signed-off",
                f"“{looked_at}” was signed off on it: “{evidence}” {what}.",
            )
    if evidence.condition is not None and evidence.condition.cleared_at is not None:
        raise Problem(
            "evidence-signed-off",
            f"It shows how a condition was met: “{evidence}” {what}.",
        )
    if evidence.deviation is not None and evidence.deviation.decided_at is not None:
        raise Problem(
            "evidence-signed-off",
            f"“{evidence.deviation}” was decided on it: “{evidence}” {what}.",
        )


def sweep(*, now: datetime) -> None:
    """Remove files that no row names, and uploads that were cut off."""
    named = set(Evidence.objects.values_list("sha256", flat=True))
    for sha256 in store.digests():
        if sha256 not in named:
            remove_unless_named(sha256)
    store.remove_left_uploads(before=(now - LONGEST_UPLOAD).timestamp())
