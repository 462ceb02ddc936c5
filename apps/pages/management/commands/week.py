"""`manage.py week`: print the week, for people or as JSON."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from rest_framework.utils.encoders import JSONEncoder

from apps.planning import selectors
from apps.property.models import Property


class Command(BaseCommand):
    help = "Print the week's plan: what to do when, who comes, which boards stay up for whom."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", type=int, help="Its id; needed with several houses.")
        parser.add_argument(
            "--on", type=date.fromisoformat, metavar="DATE", help="A date in the week; today."
        )
        parser.add_argument("--json", action="store_true", help="The API's answer instead.")

    def handle(self, *args: Any, **options: Any) -> None:
        # Geometry and rich take 200 ms: not for every other command.
        from apps.pages.terminal import console_on, print_week  # noqa: PLC0415
        from apps.planning.week import week  # noqa: PLC0415

        house = the_house(options["property"])
        now = timezone.now()
        on = options["on"] or selectors.local_today(house, now)
        found: dict[str, Any] = {
            "week": week(house, on=on, now=now),
            "alerts": selectors.alerts(house, now=now),
            "holds": selectors.board_holds(house, now=now),
        }
        if options["json"]:
            self.stdout.write(json.dumps(found, cls=JSONEncoder, indent=2))
        else:
            floors = {floor.pk: floor.name for floor in house.floors.all()}
            print_week(
                console_on(self.stdout),
                house=house,
                floors=floors,
                today=selectors.local_today(house, now),
                **found,
            )


def the_house(wanted: int | None) -> Property:
    """The house asked for, or the only one.

    Raises:
        CommandError: none, no such, or several to choose from.
    """
    houses = list(Property.objects.order_by("pk"))
    if wanted is not None:
        houses = [house for house in houses if house.pk == wanted]
    if not houses:
        raise CommandError(
            f"There is no house {wanted}." if wanted is not None
            else "There is no house yet. Try: manage.py start --demo"
        )  # fmt: skip
    if len(houses) > 1:
        names = ", ".join(f"{house.pk} ({house.name})" for house in houses)
        raise CommandError(f"Say which house with --property: {names}")
    return houses[0]
