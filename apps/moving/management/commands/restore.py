"""`manage.py restore`: a backup in the place of what is there."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.moving.manifest import Refused
from apps.moving.restoring import restore


class Command(BaseCommand):
    help = "Put the backup FILE into an empty installation, whole or not at all."
    # The database may be empty, or older than the program: it is exchanged anyway.
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="What `backup` has written.")
        parser.add_argument(
            "--replace", action="store_true",
            help="Put aside the record that is here; it is kept beside.",
        )  # fmt: skip

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = restore(Path(options["file"]), replace=options["replace"], told=self.tell)
        except Refused as exc:
            raise CommandError(f"{exc} What is here is as it was.") from exc
        for trouble in done.troubles:
            self.stderr.write(f"Warning: {trouble} It was so when the backup was made.")
        self.stdout.write(
            f"Restored: {done.rows} rows and {done.files} files; {done.sign_offs} sign-offs are "
            "what was recorded."
        )
        if done.set_aside:
            self.stdout.write(f"What was here before is in {done.set_aside}.")

    def tell(self, sentence: str) -> None:
        self.stdout.write(sentence)
        self.stdout.flush()
