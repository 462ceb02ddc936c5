"""Reading a whole database as it stood at one instant, while others go on writing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def one_instant() -> Iterator[None]:
    """Everything read inside is as of one instant; nobody waits for it.

    SQLite: a plain (deferred) transaction reads one state of the write-ahead log for as long as
    it lasts. PostgreSQL: REPEATABLE READ. Inside another transaction on SQLite that one already
    sees one state.
    """
    if connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
        return
    if connection.in_atomic_block:
        yield
        return
    # Not `atomic()`: its transactions take the write lock, and everybody else would wait.
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("ROLLBACK")
