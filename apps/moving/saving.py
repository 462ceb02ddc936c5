"""A backup of everything, made while the program is in use."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from apps.inspections.completion.services import file_of
from apps.inspections.evidence import store
from apps.inspections.models import Evidence
from apps.inspections.models.completion import CompletionFile
from apps.inspections.verify import (
    chain_trouble,
    condition_trouble,
    moved_trouble,
    sha256_of,
    state_trouble,
)
from apps.moving.archive import Passed, Told, Writer, quiet
from apps.moving.carried import NOBODY_MISSES
from apps.moving.manifest import Manifest, Refused
from apps.moving.rows import all_models, columns_of, in_backup, values_of, why_left
from apps.moving.sequences import highest_ids
from apps.moving.snapshot import one_instant
from apps.moving.whole_files import written_whole
from apps.property.models import Property

TRIES = 3
SECRET = "secret-key"  # noqa: S105  # nosec B105 # a name, no secret
FILES_LEFT = (
    {
        "what": "secret-key",
        "why": "whoever has it can sign in as anybody; ask for it with --with-secret-key",
    },
    {"what": "compiled", "why": "the program makes it itself"},
    {"what": "house-files", "why": "they were made from what is here; ask for another"},
)


class Removed(Exception):
    """Evidence was removed between the rows and their files."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What a backup holds, to be told."""

    rows: int
    files: int
    byte_size: int
    missing: tuple[str, ...]
    troubles: tuple[str, ...]


def back_up(path: Path, *, with_secret: bool = False, told: Told = quiet) -> Saved:
    """Write a backup; it takes its name only once it is whole.

    Raises:
        Refused: the disk is full, or evidence was removed again and again meanwhile.
    """
    for _ in range(TRIES):
        try:
            with written_whole(path) as file, Writer(file) as writer:
                manifest = write_backup(writer, with_secret=with_secret, told=told)
                size = file.seek(0, 2)
        except Removed:
            told("Evidence was removed meanwhile: beginning again.")
            continue
        return Saved(
            rows=sum(one.rows for one in manifest.tables),
            files=len(manifest.members) - len(manifest.tables),
            byte_size=size,
            missing=manifest.missing,
            troubles=manifest.troubles,
        )
    raise Refused("Evidence was removed each time while it was copied; try again in a while.")


def write_backup(writer: Writer, *, with_secret: bool, told: Told) -> Manifest:
    with one_instant():
        for model in in_backup():
            rows = model._default_manager.order_by("pk")
            table = writer.add_rows(model._meta.label, columns_of(model), values_of(rows))
            if table.rows:
                told(f"{table.model}: {table.rows} rows.")
        wanted = list(
            Evidence.objects.order_by("sha256").values_list("sha256", flat=True).distinct()
        )
        finished = list(CompletionFile.objects.filter(state="ready").order_by("pk"))
        migrations = applied()
        next_ids = highest_ids(in_backup())
        troubles = tuple(record_troubles())
    missing = add_evidence(writer, wanted, told)
    refuse_removed(missing)
    add_completion(writer, finished, told)
    if with_secret:
        writer.add(SECRET, [settings.SECRET_KEY.encode()], how=0)
    manifest = Manifest(
        kind="backup", id=uuid.uuid4().hex, made_at=timezone.now().isoformat(),
        database=connection.vendor, migrations=migrations, tables=tuple(writer.tables),
        members=tuple(writer.members), next_ids=next_ids, missing=missing, troubles=troubles,
        left=(*tables_left("backup"), *FILES_LEFT[1 if with_secret else 0 :]),
    )  # fmt: skip
    writer.close(manifest)
    return manifest


def add_evidence(
    writer: Writer, wanted: list[str], told: Told, passed: Passed = quiet
) -> tuple[str, ...]:
    """Copy the files of evidence and their small pictures; the digests that have no file."""
    missing = []
    for number, sha256 in enumerate(wanted, start=1):
        passed(number / len(wanted))
        if not is_kept(sha256):
            missing.append(sha256)
            continue
        writer.add_file(f"evidence/{sha256}", store.path_of(sha256))
        small = store.thumbnail_of(sha256)
        if small.is_file():
            writer.add_file(f"thumbnails/{sha256}", small)
        if number % 100 == 0 or number == len(wanted):
            told(f"Evidence: {number} of {len(wanted)} files.")
    return tuple(missing)


def is_kept(sha256: str) -> bool:
    """Whether a file is there and still what it was; an altered one is as good as none."""
    try:
        return sha256_of(store.path_of(sha256)) == sha256
    except (FileNotFoundError, ValueError):
        return False


def refuse_removed(missing: tuple[str, ...]) -> None:
    """Tell a file that was removed just now from one that has been gone for long.

    Raises:
        Removed: no row names it any more, so it went with its row, after the rows were read.
    """
    named = set(Evidence.objects.filter(sha256__in=missing).values_list("sha256", flat=True))
    if set(missing) - named:
        raise Removed


def add_completion(writer: Writer, finished: list[CompletionFile], told: Told) -> None:
    """Copy completion files that are still there; a house can ask for another."""
    for row in finished:
        # Pruned ones are gone, and may go while this is done.
        with suppress(FileNotFoundError):
            writer.add_file(f"completion/{row.pk}.zip", file_of(row))
    if finished:
        told(f"Completion files: {len(finished)}.")


def applied() -> dict[str, tuple[str, ...]]:
    """The migrations that the database stands on, by app."""
    found: dict[str, list[str]] = {}
    for app, name in sorted(MigrationRecorder(connection).applied_migrations()):
        found.setdefault(app, []).append(name)
    return {app: tuple(names) for app, names in found.items()}


def record_troubles() -> Iterator[str]:
    """What is wrong with the record already: told now, so that a restore is not blamed for it."""
    for house in Property.objects.order_by("pk"):
        yield from house_troubles(house)


def house_troubles(house: Property) -> Iterator[str]:
    """What of a house's rows does not match; its files are looked at elsewhere."""
    for look_for in (chain_trouble, moved_trouble, condition_trouble, state_trouble):
        if found := look_for(house):
            yield found


def tables_left(kind: str) -> Iterator[dict[str, str]]:
    """What stays behind of what somebody might look for, in words."""
    for model in all_models():
        why = why_left(model, kind)
        if not model._meta.auto_created and why and why not in NOBODY_MISSES:
            yield {"what": str(model._meta.verbose_name_plural), "why": why}
