"""`manage.py backup`: everything in one file, while the program is in use."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.moving.manifest import Refused
from apps.moving.saving import back_up
from apps.moving.wording import mib


class Command(BaseCommand):
    help = "Write the whole record and its files to FILE; the program may be in use meanwhile."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="Where it goes, such as house-2026-12-01.backup.")
        parser.add_argument("--replace", action="store_true", help="Take the place of such a file.")
        parser.add_argument(
            "--with-secret-key", action="store_true",
            help="Keep the key too that signs sign-in addresses: whoever has it can be anybody.",
        )  # fmt: skip

    def handle(self, *args: Any, **options: Any) -> None:
        path = Path(options["file"])
        if path.exists() and not options["replace"]:
            raise CommandError(f"{path} is there already: give another name, or --replace.")
        try:
            saved = back_up(path, with_secret=options["with_secret_key"], told=self.tell)
        except Refused as exc:
            raise CommandError(str(exc)) from exc
        for trouble in saved.troubles:
            self.stderr.write(f"Warning: {trouble} It is in the backup as it is.")
        for sha256 in saved.missing:
            self.stderr.write(f"Warning: the file of evidence {sha256} is not there to be kept.")
        self.stdout.write(
            f"{path}: {saved.rows} rows and {saved.files} files, {mib(saved.byte_size)}. "
            "Keep it off this machine, and as safe as your address book."
        )

    def tell(self, sentence: str) -> None:
        self.stdout.write(sentence)
        self.stdout.flush()
