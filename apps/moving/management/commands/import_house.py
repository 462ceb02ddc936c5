"""`manage.py import_house`: a house from a file, beside the others."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from apps.moving.importing import import_house
from apps.moving.manifest import Refused


class Command(BaseCommand):
    help = "Add the house in FILE, whole or not at all. People are matched by their names."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="What `export_house` has written.")
        parser.add_argument("--owner", help="Whose it is here; its owner there, by name.")

    def handle(self, *args: Any, **options: Any) -> None:
        owner = None
        if options["owner"]:
            users = get_user_model()._default_manager
            owner = users.filter(username=options["owner"], is_active=True).first()
            if owner is None:
                raise CommandError(f"Nobody here is called {options['owner']}.")
        try:
            done = import_house(Path(options["file"]), owner=owner, by_name=True, told=self.tell)
        except Refused as exc:
            raise CommandError(f"{exc} Nothing was added.") from exc
        for name in done.names:
            self.stdout.write(f"Kept as a name, without a way to sign in: {name}.")
        for one in done.left:
            self.stdout.write(f"Stayed behind: {one['what']}: {one['why']}.")
        self.stdout.write(
            f"{done.house} is property {done.house.pk}: {done.rows} rows, {done.files} files; "
            f"{done.sign_offs} sign-offs are what was recorded."
        )

    def tell(self, sentence: str) -> None:
        self.stdout.write(sentence)
        self.stdout.flush()
