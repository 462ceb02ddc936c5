"""A database with every migration applied, kept in the data folder from one test run to the next.

Applying them takes longer than most runs of one file. `migrate` runs over a copy of it all the
same where a test or an installation begins, so nothing is missed; a changed migration makes
another. That they apply from nothing is shown by making it, and for whole installations in
tests/services/test_sign_off_chain.py.
"""

from __future__ import annotations

import fcntl
import shutil
import sqlite3
import tempfile
from contextlib import closing
from functools import cache
from hashlib import sha256
from itertools import product
from pathlib import Path

import django
from django.conf import settings
from django.db import connection

from tests.installation import Installation

ROOT = Path(__file__).resolve().parents[1]
DATABASE = "lifted-boards.sqlite3"
"""Its name in a data folder."""
# What a schema is made of, beside the libraries.
MADE_OF = ("migrations/*.py", "fields.py", "append_only.py")


class Kept:
    """The kept database, put into this process's own before `migrate`."""

    def __init__(self) -> None:
        name = connection.creation._get_test_db_name()
        # One in memory is there as long as somebody is connected to it.
        self.memory = sqlite3.connect(name, uri=True) if "mode=memory" in name else None
        if self.memory:
            with closing(sqlite3.connect(image())) as kept:
                kept.backup(self.memory)

    def close(self) -> None:
        if self.memory:
            self.memory.close()


def migrated(installation: Installation) -> Installation:
    """The same with its tables in its SQLite database, as a first `migrate` leaves it."""
    data = installation.folder / "data"
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    shutil.copy(image(), data / DATABASE)
    return installation


@cache
def image() -> Path:
    """The kept file; the first process that asks for it makes it."""
    found: Path = settings.DATA_DIR / f"migrated-{digest()}.sqlite3"
    with (settings.DATA_DIR / "migrating").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not found.exists():
            for outdated in found.parent.glob("migrated-*.sqlite3"):
                outdated.unlink()
            make(found)
    return found


def make(image: Path) -> None:
    with tempfile.TemporaryDirectory(dir=image.parent) as folder:
        installation = Installation(Path(folder))
        installation.manage("migrate", "--verbosity", "0")
        # Its last connection has written the log into the file.
        (installation.folder / "data" / DATABASE).rename(image)


def digest() -> str:
    made = sha256(django.get_version().encode())
    made.update((ROOT / ".pins" / "test.txt").read_bytes())
    for folder, pattern in product(("apps", "renovation"), MADE_OF):
        for path in sorted((ROOT / folder).rglob(pattern)):
            made.update(path.read_bytes())
    return made.hexdigest()[:16]
