"""One house in a file, to be taken to another installation."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib.auth import get_user_model
from django.db import connection, models
from django.utils import timezone

from apps.inspections.models import Evidence
from apps.inspections.models.completion import CompletionFile
from apps.moving.archive import Passed, Told, Writer, quiet
from apps.moving.carried import HOUSE_ONLY
from apps.moving.manifest import Manifest, Refused
from apps.moving.rows import columns_of, foreign_keys, in_house, rows_of_house, values_of
from apps.moving.saving import (
    TRIES,
    Removed,
    Saved,
    add_completion,
    add_evidence,
    applied,
    house_troubles,
    refuse_removed,
    tables_left,
)
from apps.moving.snapshot import one_instant
from apps.moving.whole_files import written_whole
from apps.property.models import Member, Property

UNFINISHED = {
    "what": "plans, cutting plans and completion files that are queued or being made",
    "why": "ask for them again where the house is by then",
}


@dataclass(frozen=True, slots=True)
class Exported:
    """What went into the file, to be told."""

    saved: Saved
    left: tuple[Any, ...]


def export_house(
    house: Property, path: Path, *, told: Told = quiet, passed: Passed = quiet
) -> Exported:
    """Write one house to a file; it takes its name only once it is whole.

    Args:
        passed: called with the share of its photos and papers that is in; never in a transaction.

    Raises:
        Refused: the disk is full; the house's record does not hold.
    """
    for _ in range(TRIES):
        try:
            with written_whole(path) as file, Writer(file) as writer:
                manifest = write_house(writer, house, told=told, passed=passed)
                size = file.seek(0, 2)
        except Removed:
            told("Evidence was removed meanwhile: beginning again.")
            continue
        rows = sum(one.rows for one in manifest.tables)
        files = len(manifest.members) - len(manifest.tables)
        saved = Saved(rows, files, size, manifest.missing, manifest.troubles)
        return Exported(saved, manifest.left)
    raise Refused("Evidence was removed each time while it was copied; try again in a while.")


def write_house(writer: Writer, house: Property, *, told: Told, passed: Passed) -> Manifest:
    with one_instant():
        people: set[int] = set()
        for model in in_house():
            rows = values_of(rows_of_house(model, house))
            table = writer.add_rows(
                model._meta.label, columns_of(model), fitted(model, house, rows, people)
            )
            if table.rows:
                told(f"{table.model}: {table.rows} rows.")
        evidence = Evidence.objects.filter(property=house).order_by("sha256")
        wanted = list(evidence.values_list("sha256", flat=True).distinct())
        finished = list(CompletionFile.objects.filter(property=house, state="ready").order_by("pk"))
        named = people_of(house, people)
        migrations = applied()
        troubles = tuple(house_troubles(house))
    missing = add_evidence(writer, wanted, told, passed)
    refuse_removed(missing)
    add_completion(writer, finished, told)
    manifest = Manifest(
        kind="house", id=uuid.uuid4().hex, made_at=timezone.now().isoformat(),
        database=connection.vendor, migrations=migrations, tables=tuple(writer.tables),
        members=tuple(writer.members), missing=missing, troubles=troubles,
        left=(*tables_left("house"), UNFINISHED),
        house={"id": house.pk, "name": house.name, "people": named},
    )  # fmt: skip
    writer.close(manifest)
    return manifest


def fitted(
    model: type[models.Model], house: Property, rows: Iterable[list[Any]], people: set[int]
) -> Iterator[list[Any]]:
    """The rows without what they name that stays behind; notes the people they name."""
    users = get_user_model()
    keep: list[tuple[int, Callable[[int], bool]]] = []
    persons = []
    columns = columns_of(model)
    for field in foreign_keys(model):
        place = columns.index(field.attname)
        if field.related_model is users:
            persons.append(place)
        elif field.related_model._meta.label in HOUSE_ONLY:
            carried = set(rows_of_house(field.related_model, house).values_list("pk", flat=True))
            keep.append((place, carried.__contains__))
    for row in rows:
        people.update(row[place] for place in persons if row[place] is not None)
        for place, stays in keep:
            if row[place] is not None and not stays(row[place]):
                row[place] = None
        yield row


def people_of(house: Property, named: set[int]) -> list[dict[str, Any]]:
    """Everybody whom the rows name, with the role they have in the house, if any."""
    roles = dict(Member.objects.filter(property=house).values_list("user_id", "role"))
    users = get_user_model()._default_manager.filter(pk__in=named).order_by("pk")
    return [
        {"id": user.pk, "name": user.get_username(), "role": roles.get(user.pk, "")}
        for user in users
    ]
