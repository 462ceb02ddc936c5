"""Every page there is: found by walking the addresses, not by a list that somebody forgets.

A page without an argument is found by itself. One that is about one thing says here how to get
its thing in the demo house. What answers 405 is an action, met by its form and not by its address.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from django.urls import URLPattern, URLResolver, reverse
from django.urls.converters import IntConverter, SlugConverter, StringConverter

from apps.pages.urls import urlpatterns
from tests.browser.conftest import Site

PREPARE = """
from datetime import timedelta
from django.utils import timezone
from apps.floors.models import *
from apps.inspections.models import *
from apps.planning.models import *
from apps.planning.services import request_plan
from apps.property.models import *
from apps.timber.models import *
from apps.trades.models import *
from apps.work.models import *
from apps.trades.visit_links.services import link_of, make_link_address
from apps.work.models import *
house, now = Property.objects.get(name="14 Tidemill Lane"), timezone.now()
visit, me = Visit.objects.get(title="Electrician, first fix"), house.members.first().user
asked = {"house": house, "as_of": now, "horizon_days": 14, "seconds": 1, "quick": True}
a_day_off = {"person": Person.objects.first().pk, "date": f"{now + timedelta(days=2):%Y-%m-%d}"}
"""
ABOUT_ONE_THING = {
    "floor-board": "Board.objects.get(floor=house.floors.first(), mark='B2.1').pk",
    "week-visit": "visit.pk",
    "week-changes": "request_plan(**asked, what_if={'days_off': [a_day_off]}, requested_by=me).pk",
    "timber-piece": "Piece.objects.get(mark='T11').pk",
    "timber-edit": "Piece.objects.get(mark='T11').pk",
    "timber-need": "Need.objects.first().pk",
    "timber-need-edit": "Need.objects.first().pk",
    "timber-plan": "CuttingPlan.objects.first().pk",
    "checks-ask": "'joist'",
    "checks-floor": "house.floors.first().pk",
    "checks-levels": "SpotHeight.objects.first().floor_id",
    "looks-inspection": "Inspection.objects.first().pk",
    "looks-hold": "house.inspections.filter(sign_offs=None).first().pk",
    "house-rooms-one": "house.rooms.get(name='Hall').pk",
    "house-storeys-one": "house.storeys.first().pk",
    "house-doorways-one": "house.doorways.first().pk",
    "house-floors-one": "house.floors.first().pk",
    "house-routes-one": "house.household_routes.first().pk",
    "house-tasks-one": "Link.objects.filter(min_lag_minutes__gt=0).first().after_id",
    "house-hours-one": "WorkingTime.objects.first().pk",
    "house-trades-one": "house.trades.first().pk",
    "house-visits-one": "visit.pk",
    "house-visit-boards": "visit.pk",
    "visit-link": "make_link_address(link=link_of(visit=visit, made_by=me), made_by=me, at=now)",
}
"""Url name, and what gives its argument, with the names of PREPARE at hand."""

NOT_HERE = {
    "home": "leads to Tonight, or to the houses",
    "service-worker": "a script",
    "feed": "a calendar, for calendars",
    "house-csv-export": "saved",
    "house-preview": "a part of the page that draws it",
    "house-room-preview": "a part of the page that draws it",
    "floor-sheet": "printed",
    "week-sheet": "printed",
    "week-visit-sheet": "printed",
    "timber-sheet": "printed",
    "checks-levels-sheet": "printed",
}
"""Url names of what is no page, and what it is."""

ITS_OWN = {"sign-in-ticket"}
"""Its address is printed by a command."""

ALSO = ["/week/?on=2020-01-06", "/floor/?floor=1", "/nowhere/"]
"""Pages that look quite different at another query."""

NO_SUCH_METHOD = 405
PROBES = {IntConverter: "1", StringConverter: "x", SlugConverter: "x"}


def patterns(among: Sequence[URLPattern | URLResolver] = urlpatterns) -> Iterator[URLPattern]:
    """Every address of the pages."""
    for one in among:
        if isinstance(one, URLResolver):
            yield from patterns(one.url_patterns)
        else:
            yield one


def names() -> dict[str, URLPattern]:
    return {str(one.name): one for one in patterns()}


def probe(pattern: URLPattern) -> str:
    """Its address with arguments that are of the right kind, and of nothing there is."""
    kinds = [type(one) for one in pattern.pattern.converters.values()]
    return reverse(str(pattern.name), args=[PROBES[kind] for kind in kinds])


def pages(site: Site, page: Any) -> set[str]:
    """The url names that answer a GET: everything but the actions."""
    known = {*ABOUT_ONE_THING, *ITS_OWN, *NOT_HERE}
    unknown = {name: probe(one) for name, one in names().items() if name not in known}
    return {
        name
        for name, path in unknown.items()
        if page.request.get(site.address + path, max_redirects=0).status != NO_SUCH_METHOD
    }


def addresses(site: Site, page: Any) -> list[str]:
    """Where every page is, in the demo house."""
    lines = [f"    {name!r}: {code}," for name, code in ABOUT_ONE_THING.items()]
    given = site.installation.run("\n".join([PREPARE, "answer = {", *lines, "}"]))
    return [
        *sorted(reverse(name) for name in pages(site, page)),
        *(reverse(name, args=[thing]) for name, thing in given.items()),
        site.fresh_sign_in().removeprefix(site.address),
        *ALSO,
    ]
