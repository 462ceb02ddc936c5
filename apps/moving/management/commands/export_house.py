"""`manage.py export_house`: one house in a file."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.moving.exporting import export_house
from apps.moving.manifest import Refused
from apps.moving.wording import mib
from apps.property.models import Property


class Command(BaseCommand):
    help = "Write one house, with its evidence, to FILE; the program may be in use meanwhile."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("property", type=int, help="Its id.")
        parser.add_argument("file", help="Where it goes, such as tidemill-lane.house.")
        parser.add_argument("--replace", action="store_true", help="Take the place of such a file.")

    def handle(self, *args: Any, **options: Any) -> None:
        house = Property.objects.filter(pk=options["property"]).first()
        if house is None:
            raise CommandError(f"There is no property {options['property']}.")
        path = Path(options["file"])
        if path.exists() and not options["replace"]:
            raise CommandError(f"{path} is there already: give another name, or --replace.")
        try:
            done = export_house(house, path, told=self.tell)
        except Refused as exc:
            raise CommandError(str(exc)) from exc
        for trouble in done.saved.troubles:
            self.stderr.write(f"Warning: {trouble} It is in the file as it is.")
        for sha256 in done.saved.missing:
            self.stderr.write(f"Warning: the file of evidence {sha256} is not there to be carried.")
        for one in done.left:
            self.stdout.write(f"Stays here: {one['what']}: {one['why']}.")
        self.stdout.write(
            f"{path}: {done.saved.rows} rows and {done.saved.files} files of {house}, "
            f"{mib(done.saved.byte_size)}."
        )

    def tell(self, sentence: str) -> None:
        self.stdout.write(sentence)
        self.stdout.flush()
