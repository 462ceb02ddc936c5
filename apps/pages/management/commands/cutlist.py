"""`manage.py cutlist`: print a cutting plan in sawing order, for people or as JSON."""

from __future__ import annotations

import json
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.http import HttpRequest
from rest_framework.utils.encoders import JSONEncoder

from apps.pages.management.commands.week import the_house
from apps.property.models import Property
from apps.timber.models import CuttingPlan

# The plan to print when none is named: what is being sawn before what is only proposed.
FIRST = (
    CuttingPlan.State.APPLIED,
    CuttingPlan.State.READY,
    CuttingPlan.State.DONE,
)


class Command(BaseCommand):
    help = (
        "Print a cutting plan: what to saw from which piece and where, what to buy, what is left."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", type=int, help="Its id; needed with several houses.")
        parser.add_argument("--plan", type=int, help="Its id; the one being sawn, or the newest.")
        parser.add_argument("--json", action="store_true", help="The API's answer instead.")

    def handle(self, *args: Any, **options: Any) -> None:
        # The API's own answer, and rich, take 200 ms: not for every other command.
        from apps.pages.sawing_list import print_cut_list  # noqa: PLC0415
        from apps.pages.terminal import console_on  # noqa: PLC0415
        from apps.timber.api.cutting import CuttingPlanSerializer, CuttingPlanViewSet  # noqa: PLC0415

        plan = the_plan(the_house(options["property"]), options["plan"])
        rows = CuttingPlanViewSet.queryset.get(pk=plan.pk)
        # Only read: nobody's rows are looked for.
        asked = HttpRequest()
        asked.user = AnonymousUser()
        found = dict(CuttingPlanSerializer(rows, context={"request": asked}).data)
        if options["json"]:
            self.stdout.write(json.dumps(found, cls=JSONEncoder, indent=2))
        else:
            print_cut_list(console_on(self.stdout), found)


def the_plan(house: Property, wanted: int | None) -> CuttingPlan:
    """The plan asked for, or the one that matters.

    Raises:
        CommandError: there is none, or none with this id.
    """
    plans = CuttingPlan.objects.filter(property=house)
    if wanted is not None:
        plan = plans.filter(pk=wanted).first()
        if plan is None:
            raise CommandError(f"{house} has no cutting plan {wanted}.")
        return plan
    for state in FIRST:
        if plan := plans.filter(state=state).first():
            return plan
    raise CommandError(
        f"{house} has no cutting plan yet. Make one: POST /api/v1/cutting-plans/ "
        f'{{"property": {house.pk}}}'
    )
