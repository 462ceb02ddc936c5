"""A database with every migration applied, kept in the data folder from one test run to the next.

Applying them takes longer than most runs of one file. `migrate` runs over the kept one all the
same, so a new migration is applied on top; a changed one makes another.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from hashlib import sha256
from itertools import product
from pathlib import Path

import django
from django.conf import settings
from django.db import connection

ROOT = Path(__file__).resolve().parents[1]
# What a schema is made of, beside the libraries.
MADE_OF = ("migrations/*.py", "fields.py", "append_only.py")


class Kept:
    """The kept database, put into this process's own before `migrate`, and kept after it."""

    def __init__(self) -> None:
        name = connection.creation._get_test_db_name()
        self.image = settings.DATA_DIR / f"migrated-{digest()}.sqlite3"
        # One in memory is there as long as somebody is connected to it.
        self.memory = sqlite3.connect(name, uri=True) if "mode=memory" in name else None
        if self.memory and self.image.exists():
            with closing(sqlite3.connect(self.image)) as kept:
                kept.backup(self.memory)

    def keep(self) -> None:
        if self.memory and not self.image.exists():
            for outdated in self.image.parent.glob("migrated-*.sqlite3"):
                outdated.unlink(missing_ok=True)
            part = self.image.with_suffix(f".{os.getpid()}")
            with closing(sqlite3.connect(part)) as kept:
                self.memory.backup(kept)
            part.rename(self.image)
        if self.memory:
            self.memory.close()


def digest() -> str:
    made = sha256(django.get_version().encode())
    made.update((ROOT / ".pins" / "test.txt").read_bytes())
    for folder, pattern in product(("apps", "renovation"), MADE_OF):
        for path in sorted((ROOT / folder).rglob(pattern)):
            made.update(path.read_bytes())
    return made.hexdigest()[:16]
