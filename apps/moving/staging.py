"""A database beside the one in use, built up whole before it takes the other's place.

While it is built it stands in for the default one in this thread, so that migrations, checks and
everything else work on it as they always do.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from time import sleep
from typing import Any

from django.db import connection, connections, transaction
from django.db.utils import load_backend

from apps.moving.manifest import Refused
from apps.moving.whole_files import sync_folder

STAGED = "lifted_boards_restoring"
LOOKS, PAUSE_SECONDS = 12, 0.25


@contextmanager
def standing_in(changes: Mapping[str, Any]) -> Iterator[None]:
    """Let another database be the default one in this thread for a while."""
    before = connections["default"]
    chosen = {**before.settings_dict, **changes}
    made = load_backend(chosen["ENGINE"]).DatabaseWrapper(chosen, "default")
    connections["default"] = made
    try:
        yield
    finally:
        made.close()
        connections["default"] = before


class SqliteStage:
    """A file of its own; it takes the place of the other by renaming."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "restored.sqlite3"

    @contextmanager
    def opened(self) -> Iterator[None]:
        options = {
            **connection.settings_dict["OPTIONS"],
            "init_command": "PRAGMA journal_mode=DELETE; PRAGMA synchronous=FULL;",
        }
        with standing_in({"NAME": self.path, "OPTIONS": options}):
            yield

    def refuse_in_use(self) -> None:
        """Refuse while another process has the database open.

        Raises:
            Refused: SQLite lets nobody leave the write-ahead log while another reads it.
        """
        path = current_file()
        if not path.exists():
            return
        connection.close()
        with closing(sqlite3.connect(path, timeout=1)) as database:
            try:
                database.execute("PRAGMA journal_mode=DELETE")
            except sqlite3.OperationalError as exc:
                raise Refused("The program is running on it: stop it first.") from exc

    def swap(self, aside: Path) -> str:
        """Take the other's place in one step, with the old one kept aside; where that is."""
        path = current_file()
        connection.close()
        if path.exists():
            link_or_copy(path, aside / path.name)
        for ending in ("-wal", "-shm"):
            # Empty by then: leaving the write-ahead log has folded it in.
            path.with_name(path.name + ending).unlink(missing_ok=True)
        self.path.replace(path)
        sync_folder(path.parent)
        return str(aside)

    def forget(self, aside: Path) -> None:
        """The old one held nothing."""

    def drop(self) -> None:
        """Nothing but its file, which goes with the folder."""


def current_file() -> Path:
    return Path(connection.settings_dict["NAME"])


class PostgresqlStage:
    """A schema of its own; it takes the place of the other by renaming, in one transaction."""

    @contextmanager
    def opened(self) -> Iterator[None]:
        self.drop()
        run(f"CREATE SCHEMA {STAGED}")
        options = unpooled()
        options["options"] = f"{options.get('options', '')} -c search_path={STAGED}".strip()
        with standing_in({"OPTIONS": options}):
            yield

    def refuse_in_use(self) -> None:
        """Refuse while anybody else is connected to the database.

        Raises:
            Refused: and that for a few seconds: what is being closed takes a moment to end.
        """
        for _ in range(LOOKS):
            if not (others := others_connected()):
                return
            sleep(PAUSE_SECONDS)
        raise Refused(
            f"{others} other {'connections are' if others > 1 else 'connection is'} open to "
            "the database: stop the program and its workers first."
        )

    def swap(self, aside: Path) -> str:
        name = aside.name.replace("-", "_")
        with connection.cursor() as cursor:
            cursor.execute("SELECT current_schema()")
            current = cursor.fetchone()[0]
        with transaction.atomic():
            run(
                f'ALTER SCHEMA "{current}" RENAME TO "{name}"',
                f'ALTER SCHEMA {STAGED} RENAME TO "{current}"',
            )
        connection.close()
        return f"{aside} and the schema {name}"

    def forget(self, aside: Path) -> None:
        """The old one held nothing."""
        run(f'DROP SCHEMA "{aside.name.replace("-", "_")}" CASCADE')

    def drop(self) -> None:
        run(f"DROP SCHEMA IF EXISTS {STAGED} CASCADE")


Stage = SqliteStage | PostgresqlStage


def unpooled() -> dict[str, Any]:
    options = connection.settings_dict["OPTIONS"]
    return {name: value for name, value in options.items() if name != "pool"}


def others_connected() -> int:
    """How many are connected to the database beside us, our own pool left aside."""
    ours: Any = connections["default"]
    ours.close()
    if ours.settings_dict["OPTIONS"].get("pool"):
        ours.close_pool()
    with standing_in({"OPTIONS": unpooled()}), connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
            "AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
        )
        return int(cursor.fetchone()[0])


def link_or_copy(source: Path, target: Path) -> None:
    """The same file under another name; a copy where the disk knows no second names."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)


def run(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


@contextmanager
def a_stage(folder: Path) -> Iterator[Stage]:
    """A place to build a database up, and a folder for its files; gone again afterwards."""
    folder.mkdir(mode=0o700, parents=True)
    stage: Stage = PostgresqlStage() if connection.vendor == "postgresql" else SqliteStage(folder)
    try:
        yield stage
    finally:
        with suppress(Exception):
            stage.drop()
        shutil.rmtree(folder, ignore_errors=True)
