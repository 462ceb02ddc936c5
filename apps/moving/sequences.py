"""The numbers a database gives to new rows: read, raised, and taken ahead."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models

Model = type[models.Model]


def counted(model: Model) -> bool:
    """Whether the database numbers its rows by itself."""
    return isinstance(model._meta.pk, models.AutoField)


def highest_ids(found: Iterable[Model]) -> dict[str, int]:
    """The highest id ever given to each model's rows, of removed ones too."""
    return {model._meta.label: highest(model) for model in found if counted(model)}


def highest(model: Model) -> int:
    table, column = model._meta.db_table, pk_column(model)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [f'"{table}"', column])
            name = cursor.fetchone()[0]
            cursor.execute(f"SELECT CASE WHEN is_called THEN last_value ELSE 0 END FROM {name}")  # noqa: S608  # nosec B608 # a name of the database's own
        else:
            cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        row = cursor.fetchone()
    return int(row[0]) if row else 0


def take(model: Model, count: int) -> list[int]:
    """Ids for so many new rows, which nobody else will be given. Call inside a transaction."""
    table, column = model._meta.db_table, pk_column(model)
    if connection.vendor != "postgresql":
        # The transaction has the write lock; inserting the last of them raises the counter.
        first = highest(model) + 1
        return list(range(first, first + count))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT nextval(pg_get_serial_sequence(%s, %s)) FROM generate_series(1, %s)",
            [f'"{table}"', column, count],
        )
        return sorted(int(row[0]) for row in cursor.fetchall())


def raise_to(ids: dict[Any, int]) -> None:
    """See to it that no id up to the given one is ever given to another row, by model."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for statement in connection.ops.sequence_reset_sql(no_style(), list(ids)):
                cursor.execute(statement)
        for model, least in ids.items():
            if least > highest(model):
                raise_one(cursor, model, least)


def raise_one(cursor: Any, model: Model, least: int) -> None:
    table, column = model._meta.db_table, pk_column(model)
    if connection.vendor == "postgresql":
        cursor.execute(
            "SELECT setval(pg_get_serial_sequence(%s, %s), %s)", [f'"{table}"', column, least]
        )
        return
    cursor.execute("UPDATE sqlite_sequence SET seq = %s WHERE name = %s", [least, table])
    cursor.execute(
        "INSERT INTO sqlite_sequence (name, seq) SELECT %s, %s "
        "WHERE NOT EXISTS (SELECT 1 FROM sqlite_sequence WHERE name = %s)",
        [table, least, table],
    )


def pk_column(model: Model) -> str:
    pk = model._meta.pk
    assert pk is not None, "every model has a primary key"  # nosec B101
    return str(pk.column)
