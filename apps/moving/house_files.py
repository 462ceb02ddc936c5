"""The files of a house that comes in: looked at like any upload, and put in their places."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex
from typing import Any

from django.conf import settings
from django.db import transaction

from apps.inspections.completion.services import file_of
from apps.inspections.evidence import store
from apps.inspections.evidence.services import hold_file, remove_unless_named
from apps.inspections.evidence.sniff import BrokenFile, FileType, UnknownType, sniff
from apps.inspections.models.completion import CompletionFile
from apps.moving.archive import Archive, Told
from apps.moving.manifest import Refused

MOST_FILE_BYTES = 64 * 1024 * 1024
"""Far above what an upload may have: each is read into memory."""
UNDER_WAY = ".moving-"
FILE_NAME = re.compile(r"[\w .()-]{1,120}")
Rows = Mapping[str, list[dict[str, Any]]]


@contextmanager
def placed(
    archive: Archive, rows: Rows, *, told: Told
) -> Iterator[Callable[[Mapping[int, int]], None]]:
    """Put evidence under its digests, and completion files beside their places.

    Gives what moves completion files to their rows' new ids, once those are known. When the house
    does not come about, all files go again.

    Raises:
        Refused: a file is missing, not what its row says, or of a type that is never kept.
    """
    named = by_digest(archive, rows["inspections.Evidence"])
    stamp = token_hex(8)
    drafts = {
        int(row["id"]): Path(settings.COMPLETION_DIR) / f"{UNDER_WAY}{stamp}-{row['id']}"
        for row in finished(archive, rows["inspections.CompletionFile"])
    }
    put: list[CompletionFile] = []
    try:
        place_evidence(archive, named)
        for pk, draft in drafts.items():
            draft.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with draft.open("wb") as file:
                file.writelines(archive.chunks(f"completion/{pk}.zip"))
        told(f"Files: {len(named) + len(drafts)}.")
        yield lambda ids: put_in_place(drafts, ids, put)
    except BaseException:
        for sha256 in named:
            remove_unless_named(sha256)
        for row in put:
            if not CompletionFile.objects.filter(pk=row.pk).exists():
                file_of(row).unlink(missing_ok=True)
        raise
    else:
        put_back_removed(archive, named)
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)


def put_in_place(
    drafts: Mapping[int, Path], ids: Mapping[int, int], put: list[CompletionFile]
) -> None:
    for old, draft in drafts.items():
        put.append(CompletionFile(pk=ids[old]))
        draft.replace(file_of(put[-1]))


def put_back_removed(archive: Archive, named: Mapping[str, list[dict[str, Any]]]) -> None:
    """What was removed again before its rows were there, by a sweep or by another who brought in
    the same house and gave up. From now on its rows are there to be seen."""
    for sha256 in named:
        with transaction.atomic():
            hold_file(sha256)
            if not store.path_of(sha256).exists():
                place_evidence(archive, {sha256: named[sha256]})


def by_digest(archive: Archive, rows: list[dict[str, Any]]) -> Mapping[str, list[dict[str, Any]]]:
    """The rows of each file of evidence; all files that rows name are there, and no others."""
    named = defaultdict(list)
    for row in rows:
        if not FILE_NAME.fullmatch(str(row["file_name"])):
            raise Refused(f"Evidence {row['id']}: {row['file_name']!r} is no name for a file.")
        named[str(row["sha256"])].append(row)
    there = {*archive.names("evidence")}
    if there - set(named):
        raise Refused("It has a file of evidence that no row names.")
    if set(named) - there - {*archive.manifest.missing}:
        raise Refused("It lacks a file of evidence that its rows name.")
    return {sha256: named[sha256] for sha256 in there}


def place_evidence(archive: Archive, named: Mapping[str, list[dict[str, Any]]]) -> None:
    refuse_large_files(archive)
    small = {*archive.names("thumbnails")}
    for sha256, rows in named.items():
        content = b"".join(archive.chunks(f"evidence/{sha256}"))
        thumbnail = b"".join(archive.chunks(f"thumbnails/{sha256}")) if sha256 in small else None
        for row in rows:
            refuse_strange_file(row, content, thumbnail)
        store.place(sha256, content, thumbnail)


def refuse_large_files(archive: Archive) -> None:
    for one in archive.manifest.members:
        of_evidence = one.name.startswith(("evidence/", "thumbnails/"))
        if of_evidence and one.byte_size > MOST_FILE_BYTES:
            raise Refused("It has a photo or a paper larger than any that is kept.")


def refuse_strange_file(row: Mapping[str, Any], content: bytes, thumbnail: bytes | None) -> None:
    """What is shown to a browser is a photo or a PDF, whatever a file from elsewhere says."""
    try:
        right = sniff(content) == row["content_type"] and len(content) == row["byte_size"]
        right = right and (thumbnail is None or sniff(thumbnail) == FileType.JPEG)
    except (UnknownType, BrokenFile):
        right = False
    if not right:
        raise Refused(f"The file of evidence {row['id']} is not what its row says.")


def finished(archive: Archive, rows: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """The rows whose completion file came along."""
    ready = {f"{row['id']}.zip": row for row in rows if row["state"] == "ready"}
    for name in archive.names("completion"):
        if name not in ready or archive.digest(f"completion/{name}") != ready[name]["sha256"]:
            raise Refused("It has a completion file that no row names.")
        yield ready[name]
