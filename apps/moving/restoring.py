"""A backup put back: checked whole, built up beside what is there, and only then in its place."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.apps import apps as installed
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import DatabaseError, OperationalError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from apps.floors.models import BoardMove
from apps.inspections.evidence import store
from apps.inspections.models import Evidence, SignOff
from apps.moving.archive import Archive, Told, open_archive, quiet
from apps.moving.manifest import Manifest, Refused
from apps.moving.rows import batches, made_of
from apps.moving.saving import SECRET, record_troubles
from apps.moving.sequences import counted, raise_to
from apps.moving.staging import a_stage
from apps.moving.taking_place import take_place
from apps.moving.whole_files import in_words
from apps.property.models import Property
from apps.work.models import TimeEntry

# What unpacks to more than this is no record of houses.
MOST_BYTES = 1024**4


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back, to be told."""

    rows: int
    files: int
    sign_offs: int
    set_aside: str
    troubles: tuple[str, ...]


def restore(path: Path, *, replace: bool = False, told: Told = quiet) -> Restored:
    """Put a backup in the place of what is there.

    Raises:
        Refused: the archive is not whole, or not for this program; there is a record already and
            `replace` was not said; the program is running; the disk is full. Nothing has changed.
    """
    try:
        with path.open("rb") as file:
            archive = open_archive(file, most_bytes=room_for(path), told=told)
            refuse_unfit(archive.manifest, "backup")
            had = has_record()
            if had and not replace:
                raise Refused(
                    "There is a record here already. With --replace it is put aside, and the "
                    "backup takes its place."
                )
            return put_back(archive, had=had, told=told)
    except OSError as exc:
        raise Refused(in_words(exc, path)) from exc


def room_for(path: Path) -> int:
    """Rows may grow a good deal when unpacked, the disk may not."""
    free = shutil.disk_usage(settings.DATA_DIR).free
    if path.stat().st_size > free:
        raise Refused("The disk has not room enough for what is in the archive.")
    return min(MOST_BYTES, free)


def refuse_unfit(manifest: Manifest, kind: str) -> None:
    """Refuse the other kind of archive, and one of a newer program."""
    if manifest.kind != kind:
        other = "one house: use import_house" if kind == "backup" else "a whole backup: use restore"
        raise Refused(f"This is {other}.")
    graph = MigrationExecutor(connection).loader.graph
    for app, names in manifest.migrations.items():
        for name in names:
            if (app, name) not in graph.nodes:
                raise Refused(
                    f"It was made by a newer program ({app} {name}): bring this one up to date."
                )


def has_record() -> bool:
    """Whether anything here would be lost: a house, or accounts beyond the local owner's."""
    tables = set(connection.introspection.table_names())
    users = get_user_model()
    if Property._meta.db_table in tables and Property.objects.exists():
        return True
    return users._meta.db_table in tables and users._default_manager.count() > 1


def put_back(archive: Archive, *, had: bool, told: Told) -> Restored:
    stamp = timezone.now().strftime("%Y%m%d-%H%M%S")
    data = Path(settings.DATA_DIR)
    files, aside = data / f"restoring-{stamp}", data / f"set-aside-{stamp}"
    with a_stage(files) as stage:
        stage.refuse_in_use()
        unpack(archive, files, told)
        with stage.opened():
            build(archive, told)
            troubles = refuse_unsound(archive)
            signed = SignOff.objects.count()
        # On the disk before anything is put in place.
        os.sync()
        set_aside = take_place(stage, files, aside)
        if not had:
            stage.forget(aside)
            shutil.rmtree(aside)
            set_aside = ""
    return Restored(
        rows=sum(one.rows for one in archive.manifest.tables),
        files=len(archive.manifest.members) - len(archive.manifest.tables),
        sign_offs=signed, set_aside=set_aside, troubles=troubles,
    )  # fmt: skip


def unpack(archive: Archive, folder: Path, told: Told) -> None:
    """Write the archive's files beside their places."""
    for name, target in (
        *((f"evidence/{one}", f"evidence/{one[:2]}/{one}") for one in archive.names("evidence")),
        *(
            (f"thumbnails/{one}", f"evidence/{one[:2]}/{one}{store.THUMBNAIL}")
            for one in archive.names("thumbnails")
        ),
        *((f"completion/{one}", f"completion/{one}") for one in archive.names("completion")),
        *((one.name, one.name) for one in archive.manifest.members if one.name == SECRET),
    ):
        path = folder / target
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with path.open("wb") as file:
            path.chmod(0o600)
            for chunk in archive.chunks(name):
                file.write(chunk)
    told(f"Files: {len(archive.manifest.members) - len(archive.manifest.tables)} unpacked.")


def build(archive: Archive, told: Told, *, before: Callable[[Any], None] | None = None) -> None:
    """Make the archive's tables, fill them, and bring them up to date.

    Args:
        before: called with the tables' models before they are filled.

    Raises:
        Refused: the rows do not fit their tables, or each other.
    """
    told("Making the tables; this takes a moment.")
    executor = MigrationExecutor(connection)
    targets = last_of(executor.loader.graph, archive.manifest.migrations)
    try:
        executor.migrate(targets)
        models = executor.loader.project_state(targets).apps
        with transaction.atomic():
            if before is not None:
                before(models)
            fill(archive, models, told)
        told("Bringing the tables up to date.")
        call_command("migrate", verbosity=0, interactive=False)
        connection.check_constraints()
    except DatabaseError as exc:
        raise Refused(database_in_words(exc)) from exc


def database_in_words(exc: DatabaseError) -> str:
    told = str(exc).splitlines()[0] if str(exc) else type(exc).__name__
    if isinstance(exc, OperationalError):
        return f"The database cannot be written to: {told}."
    return f"Its rows do not fit: {told}."


def last_of(graph: Any, migrations: Mapping[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    """Those migrations of each app that no other of the same app builds on."""
    named = {(app, name) for app, names in migrations.items() for name in names}
    return sorted(
        key
        for key in named
        if not any(
            child.key in named and child.key[0] == key[0] for child in graph.node_map[key].children
        )
    )


def fill(archive: Archive, models: Any, told: Told) -> None:
    """Write all rows as they were, ids and versions included."""
    highest = {}
    for table in archive.manifest.tables:
        model = known(models, table.model)
        if model is None:
            if table.rows:
                raise Refused(f"It has rows of {table.model}, which this program has not.")
            continue
        keep_times(model)
        for batch in batches(made_of(model, row) for row in archive.rows(table.model)):
            model._default_manager.bulk_create(batch)
        if counted(model) and (least := archive.manifest.next_ids.get(table.model)):
            highest[model] = least
        if table.rows:
            told(f"{table.model}: {table.rows} rows.")
    raise_to(highest)


def known(models: Any, label: str) -> Any:
    try:
        return models.get_model(label)
    except LookupError:
        return None


def keep_times(model: Any) -> None:
    """Let columns that note the moment of writing keep the moment they noted then. The model is
    the migrations' own copy, so the program's stays as it is."""
    for field in model._meta.concrete_fields:
        if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False):
            field.auto_now = field.auto_now_add = False


def refuse_unsound(archive: Archive) -> tuple[str, ...]:
    """Hold what was built against the archive and against itself; what was wrong with it before.

    Raises:
        Refused: rows are missing, the chain does not hold though it did, a log could be altered,
            or a file of evidence is not there.
    """
    for table in archive.manifest.tables:
        model = known(installed, table.model)
        # A later migration may have dropped a model, or added to its rows; never taken any.
        if model is not None and model._default_manager.count() < table.rows:
            raise Refused(f"{table.model}: not all of its rows came back.")
    troubles = tuple(record_troubles())
    if new := [one for one in troubles if one not in archive.manifest.troubles]:
        raise Refused(new[0])
    there = {*archive.names("evidence"), *archive.manifest.missing}
    if set(Evidence.objects.values_list("sha256", flat=True)) - there:
        raise Refused("It lacks a file of evidence that its rows name.")
    for model in (SignOff, TimeEntry, BoardMove):
        refuse_open_log(model)
    return troubles


def refuse_open_log(model: Any) -> None:
    """Try to alter a log: the database itself has to refuse."""
    first = model._default_manager.order_by("pk").first()
    if first is None:
        return
    try:
        with transaction.atomic():
            model._default_manager.filter(pk=first.pk).update(version=first.version)
            raise Refused(f"The log of {model._meta.verbose_name_plural} is not protected.")
    except DatabaseError:
        return
