"""The rows of a house's file as this program's tables have them, whichever made the file."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model

from apps.moving.archive import Archive, Told
from apps.moving.manifest import Refused
from apps.moving.restoring import build
from apps.moving.rows import columns_of, in_house, rows_of_house, values_of
from apps.moving.saving import applied
from apps.moving.staging import standing_in
from apps.property.models import Property

SQLITE = "django.db.backends.sqlite3"
BRINGING_UP = "bringing-up-"


def rows_of_today(archive: Archive, *, told: Told) -> dict[str, list[dict[str, Any]]]:
    """By model; those of an older program are taken through the migrations since, in a database
    made for it.

    Raises:
        Refused: they do not fit.
    """
    if same_tables(archive.manifest.migrations):
        return {model._meta.label: as_they_are(archive, model) for model in in_house()}
    with tempfile.TemporaryDirectory(prefix=BRINGING_UP, dir=settings.DATA_DIR) as folder:
        path = Path(folder) / "house.sqlite3"
        with standing_in({"ENGINE": SQLITE, "NAME": path, "OPTIONS": {}}):
            build(archive, told, before=lambda apps: name_people(apps, archive))
            house = Property.objects.get()
            return {
                model._meta.label: [
                    dict(zip(columns_of(model), row, strict=True))
                    for row in values_of(rows_of_house(model, house))
                ]
                for model in in_house()
            }


def same_tables(migrations: Mapping[str, tuple[str, ...]]) -> bool:
    here = applied()
    apps = {model._meta.app_label for model in in_house()}
    return all(set(migrations.get(app, ())) == set(here.get(app, ())) for app in apps)


def as_they_are(archive: Archive, model: Any) -> list[dict[str, Any]]:
    table = archive.manifest.table(model._meta.label)
    if table is None or list(table.columns) != columns_of(model):
        raise Refused(f"Its table {model._meta.label} is not as this program has it.")
    return list(archive.rows(model._meta.label))


def name_people(apps: Any, archive: Archive) -> None:
    """The rows name people by their ids: let there be some."""
    users = apps.get_model(get_user_model()._meta.label)
    users._default_manager.bulk_create(
        users(pk=one["id"], username=f"{one['id']}")
        for one in archive.manifest.house.get("people", [])
    )
