"""Who looks at which house: what every page and every action begins with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import wraps
from http import HTTPStatus
from typing import Any, Concatenate, ParamSpec
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from apps.inspections.evidence.services import Looked
from apps.property.models import Property
from renovation.scope import may_change, visible

FIRST_YEAR, LAST_YEAR = 1900, 2200
REMEMBERED = "house"
NO_SUCH_HOUSE = "There is no such house here."
signed_in = login_required(redirect_field_name=None)
Rest = ParamSpec("Rest")


@dataclass(frozen=True, slots=True)
class Visiting:
    """A signed-in person in one of their houses, at one moment.

    Attributes:
        may_change: False for someone who may only look.
        now: the request's moment; views take it from here and ask no clock.
        photo: what a form's field `photo` held, looked into; None on pages.
        shows_feet: True for someone who wants feet and inches beside metric lengths.
    """

    user: User
    house: Property
    may_change: bool
    now: datetime
    photo: Looked | None = None
    shows_feet: bool = False

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.house.timezone)

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()


HouseView = Callable[Concatenate[HttpRequest, Visiting, Rest], HttpResponse]


def house_page(view: HouseView[Rest]) -> Callable[Concatenate[HttpRequest, Rest], HttpResponse]:
    """A page about a house: `view(request, visiting, …)`, in the house's own time zone.

    The house is the one that `?property=` names, else the one looked at last, else the first.
    """

    @wraps(view)
    def shown(request: HttpRequest, /, *args: Rest.args, **kwargs: Rest.kwargs) -> HttpResponse:
        found = visiting(request, request.GET.get("property", ""))
        if found is None:
            asked = "property" in request.GET
            return trouble(request, NO_SUCH_HOUSE) if asked else redirect("home")
        with timezone.override(found.zone):
            return view(request, found, *args, **kwargs)

    shown.of_a_house = True  # type: ignore[attr-defined] # read by the test that walks all pages
    return never_cache(require_safe(signed_in(shown)))


def visiting(request: HttpRequest, wanted: str) -> Visiting | None:
    """The visit that a request makes; None when the house is not among the person's own."""
    remembered = str(request.session.get(REMEMBERED, ""))
    house = house_of(request.user, wanted or remembered)
    if house is None and not wanted:
        house = house_of(request.user, "")
    if house is None or not isinstance(request.user, User):
        return None
    if remembered != str(house.pk):
        request.session[REMEMBERED] = house.pk
    return Visiting(
        request.user,
        house,
        may_change(request.user, house.pk),
        timezone.now(),
        shows_feet=bool(getattr(house, "shows_feet", False)),
    )


def house_of(user: Any, wanted: str) -> Property | None:
    """The house of an id among the user's own; their first one when none is named."""
    # The person's own choice comes with the house, over the join that is there already.
    houses = visible(Property.objects.order_by("name", "pk"), user)
    houses = houses.annotate(shows_feet=F("members__shows_feet"))
    if wanted:
        number = id_of(wanted)
        houses = houses.none() if number is None else houses.filter(pk=number)
    return houses.first()


def id_of(written: str) -> int | None:
    """A row's id as a form or an address has it; None when it cannot be one."""
    # Eighteen digits fit into every database's integer.
    known = written.isascii() and written.isdigit() and len(written) <= 18
    return int(written) if known else None


def date_of(written: str, *, otherwise: date) -> date | None:
    """A date of the query; None when it cannot be read or no calendar here reaches it."""
    if not written:
        return otherwise
    try:
        on = date.fromisoformat(written)
    except ValueError:
        return None
    return on if FIRST_YEAR <= on.year <= LAST_YEAR else None


def page(
    request: HttpRequest,
    found: Visiting,
    template: str,
    shown: dict[str, Any],
    *,
    here: str,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    """A page of a house. `here` is its screen's url name, marked in the bar at the bottom."""
    context = {
        "house": found.house,
        "may_change": found.may_change,
        "shows_feet": found.shows_feet,
        "here": here,
        **shown,
    }
    return render(request, template, context, status=status)


def trouble(
    request: HttpRequest, sentence: str, *, status: HTTPStatus = HTTPStatus.NOT_FOUND
) -> HttpResponse:
    """A page that only says what is wrong, and leads back."""
    return render(request, "pages/trouble.html", {"sentence": sentence}, status=status)
