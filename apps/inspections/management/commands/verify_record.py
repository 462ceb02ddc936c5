"""`manage.py verify_record`: is the record still what was recorded?"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.inspections.models import Evidence, SignOff
from apps.inspections.verify import first_trouble
from apps.property.models import Property


class Command(BaseCommand):
    help = "Check the chain of sign-offs and the files of the evidence against their digests."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--property", type=int, help="Id of one house; left out: all of them.")

    def handle(self, *args: Any, **options: Any) -> None:
        houses = Property.objects.order_by("pk")
        if options["property"] is not None:
            houses = houses.filter(pk=options["property"])
            if not houses:
                raise CommandError(f"There is no property {options['property']}.")
        for house in houses:
            if trouble := first_trouble(house):
                # A CommandError ends with exit status 1.
                raise CommandError(trouble)
        signed = SignOff.objects.filter(property__in=houses)
        last = signed.order_by("property", "number").last() if houses.count() == 1 else None
        self.stdout.write(
            f"All is well: {signed.count()} sign-offs and "
            f"{Evidence.objects.filter(property__in=houses).count()} files are what was recorded."
            + (f" The last digest is {last.digest}." if last else "")
        )
