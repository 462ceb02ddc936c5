"""A house from a file, beside whatever else is here. Its rows are numbered anew.

Ids inside JSON columns are numbered with them. What was signed is not touched: a sign-off keeps
the ids it was signed with beside those it has by now, so the chain still holds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, models, transaction

from apps.inspections.models import SignOff
from apps.moving.archive import Archive, Passed, Told, open_archive, quiet
from apps.moving.bringing_up import rows_of_today
from apps.moving.carried import JSON_COLUMNS
from apps.moving.house_files import placed
from apps.moving.manifest import Refused
from apps.moving.people import People, refuse_nobody
from apps.moving.restoring import database_in_words, refuse_unfit, room_for
from apps.moving.rows import batches, foreign_keys, in_house, made_of
from apps.moving.saving import house_troubles
from apps.moving.sequences import take
from apps.moving.whole_files import in_words
from apps.property.models import Member, Property

GONE = 1_000_000_000
"""Added to the id of a row that was removed before the house moved, and below zero: it names
nothing, and never a row of another house."""
OTHER_WORDS = {
    "timber_need": "need", "temporary_measure": "temporarymeasure", "package": "workpackage",
}  # fmt: skip
LOOKED, READ, PLACED = 0.4, 0.6, 0.8
"""The share that is done after each step, as a guess."""
Rows = Mapping[str, list[dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class Imported:
    """What came in, to be told."""

    house: Property
    rows: int
    files: int
    sign_offs: int
    names: tuple[str, ...]
    left: tuple[Any, ...]


def import_house(
    path: Path, *, owner: Any = None, by_name: bool = False, told: Told = quiet,
    passed: Passed = quiet, added: Callable[[Property], None] = quiet,
    looked_at: Callable[[Archive, Rows], None] = lambda *_: None,
    most_bytes: int | None = None, most_row_bytes: int | None = None,
) -> Imported:  # fmt: skip
    """Add the house of a file.

    Args:
        owner: whose it is here; left out: its owner there, by name.
        by_name: whether people of the same name here are the same people. Otherwise only names
            of them are kept, in accounts that nobody can sign in to.
        passed: called with the share that is done; never in a transaction.
        looked_at: called before anything is written, to refuse more than is refused anyhow.
        added: called with the house in the transaction that adds it, last of all.
        most_bytes, most_row_bytes: what it may come to unpacked; left out: what the disk has room
            for.

    Raises:
        Refused: the file is not whole, or does not fit; nobody would own the house; the disk is
            full. Nothing was added.
    """
    try:
        with path.open("rb") as file:
            archive = open_archive(
                file, most_bytes=most_bytes or room_for(path), most_row_bytes=most_row_bytes,
                told=told, passed=lambda share: passed(LOOKED * share),
            )  # fmt: skip
            refuse_unfit(archive.manifest, "house")
            rows = rows_of_today(archive, told=told)
            # All that takes long comes before the transaction, so that nobody waits for it.
            refuse_wrong_rows(rows)
            looked_at(archive, rows)
            passed(READ)
            with placed(archive, rows, told=told) as put_in_place:
                passed(PLACED)
                return add(
                    archive, rows, owner=owner, by_name=by_name, told=told, added=added,
                    put_in_place=put_in_place,
                )  # fmt: skip
    except OSError as exc:
        raise Refused(in_words(exc, path)) from exc
    except DatabaseError as exc:
        raise Refused(database_in_words(exc)) from exc
    except UnicodeError as exc:
        raise Refused("It has a text that cannot be kept.") from exc


@transaction.atomic
def add(
    archive: Archive, rows: Rows, *, owner: Any, by_name: bool, told: Told,
    added: Callable[[Property], None],
    put_in_place: Callable[[Mapping[int, int]], None],
) -> Imported:  # fmt: skip
    people = People(archive.manifest.house, by_name=by_name)
    owners = refuse_nobody(people, owner)
    moving = Moving(archive.manifest.id, rows, people)
    for model in in_house():
        if model is Member:
            continue
        label = model._meta.label
        for batch in batches(moving.row(model, row) for row in rows[label]):
            model._default_manager.bulk_create(batch)
        if rows[label]:
            told(f"{label}: {len(rows[label])} rows.")
    house = Property.objects.get(pk=moving.only_house())
    for user, role in people.members(owners):
        Member.objects.create(property=house, user=user, role=role)
    connection.check_constraints()
    # What was wrong with the record before it moved is not held against it now.
    if not archive.manifest.troubles and (trouble := next(house_troubles(house), None)):
        raise Refused(trouble)
    added(house)
    put_in_place(moving.ids["inspections.CompletionFile"])
    return Imported(
        house=house, rows=sum(len(found) for found in rows.values()),
        files=len(archive.manifest.members) - len(archive.manifest.tables),
        sign_offs=SignOff.objects.filter(property=house).count(),
        names=people.only_names, left=archive.manifest.left,
    )  # fmt: skip


class Moving:
    """The new ids of one house's rows, and its rows with them."""

    def __init__(self, archive_id: str, rows: Rows, people: People) -> None:
        self.archive_id = archive_id
        self.people = people
        self.ids: dict[str, dict[int, int]] = {}
        self.labels: dict[str, str] = {}
        for model in in_house():
            label = model._meta.label
            old = sorted(int(row["id"]) for row in rows[label])
            if len({*old}) != len(old):
                raise Refused(f"{label}: two rows have one id.")
            self.ids[label] = dict(zip(old, take(model, len(old)), strict=True))
            self.labels[str(model._meta.model_name)] = label
        if len(rows["property.Property"]) != 1:
            raise Refused("A file of a house has one house in it.")

    def only_house(self) -> int:
        return next(iter(self.ids["property.Property"].values()))

    def renumber(self, kind: str, pk: int) -> int:
        """An id inside a JSON column, by now."""
        if pk <= 0:
            return pk
        label = self.labels.get(OTHER_WORDS.get(kind, kind), "")
        return self.ids.get(label, {}).get(pk, -(GONE + pk))

    def row(self, model: type[models.Model], row: Mapping[str, Any]) -> Any:
        """A row as it is to be written here.

        Raises:
            Refused: it names what is not in the file, or has a value that its column forbids.
        """
        label = model._meta.label
        values = dict(row)
        values["id"] = self.ids[label][row["id"]]
        for field in foreign_keys(model):
            if (named := row[field.attname]) is not None:
                values[field.attname] = self.named(field, named, label)
        for name, value in row.items():
            if renumbered := JSON_COLUMNS.get(f"{label}.{name}"):
                try:
                    values[name] = renumbered(value, self.renumber)
                except (KeyError, TypeError, ValueError, AttributeError) as exc:
                    raise Refused(f"{label}: what is in {name} makes no sense.") from exc
        if model is SignOff:
            values["as_signed"] = as_signed(row, self.archive_id)
        return made_of(model, values)

    def named(self, field: Any, pk: int, label: str) -> int:
        other = field.related_model._meta.label
        known = self.people.ids if other == self.people.label else self.ids.get(other, {})
        if pk not in known:
            raise Refused(f"{label}: a row names a {field.name} that is not in the file.")
        return known[pk]


def as_signed(row: Mapping[str, Any], archive_id: str) -> dict[str, Any]:
    """The ids that a sign-off was signed with: kept through any number of moves."""
    names = ("property", "inspection", "task", "recorded_by")
    kept = row["as_signed"]
    if kept is None:
        return {"moved_in": archive_id, **{name: row[f"{name}_id"] for name in names}}
    right = (
        isinstance(kept, dict)
        and set(kept) == {"moved_in", *names}
        and all(kept[name] is None or type(kept[name]) is int for name in names)
    )
    if not right:
        raise Refused(f"Sign-off number {row['number']}: what it was signed with makes no sense.")
    return dict(kept)


def refuse_wrong_rows(rows: Rows) -> None:
    """Ask the rules of every column of every row.

    Raises:
        Refused: a value is none of its column's.
    """
    for model in in_house():
        for row in rows[model._meta.label]:
            refuse_wrong_values(made_of(model, row))


def refuse_wrong_values(made: models.Model) -> None:
    """Ask the columns' own rules: the file may come from anybody."""
    for field in made._meta.concrete_fields:
        value = getattr(made, field.attname)
        if value in field.empty_values or field.is_relation:
            continue
        known = {choice for choice, _ in field.flatchoices}
        wrong = (known and value not in known) or (isinstance(value, str) and "\x00" in value)
        try:
            field.run_validators(value)
        except (ValidationError, TypeError, ValueError):
            wrong = True
        if wrong:
            raise Refused(f"{made._meta.label}: {str(value)[:60]!r} cannot be its {field.name}.")
