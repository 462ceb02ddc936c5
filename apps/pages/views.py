"""The pages: forms in, services called, templates out. No rules of their own."""

from __future__ import annotations

from datetime import date
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from apps.pages import planner
from apps.pages.owner import spend_ticket, user_of_ticket
from apps.planning import selectors
from apps.property.models import Property
from renovation import problems
from renovation.scope import may_change, visible

BACKEND = "django.contrib.auth.backends.ModelBackend"
FIRST_YEAR, LAST_YEAR = 1900, 2200
signed_in = login_required(redirect_field_name=None)


@never_cache
@require_safe
def how_to_sign_in(request: HttpRequest) -> HttpResponse:
    """Where someone lands who is not signed in."""
    return render(request, "pages/sign_in.html", {"trouble": ""})


@never_cache
def sign_in(request: HttpRequest, ticket: str) -> HttpResponse:
    """One button. Opening the address changes nothing, so a link preview cannot use it up."""
    user = spend_ticket(ticket) if request.method == "POST" else user_of_ticket(ticket)
    if user is None:
        trouble = "This sign-in address was used before, or is older than twelve hours."
        return render(
            request, "pages/sign_in.html", {"trouble": trouble}, status=HTTPStatus.GONE
        )  # fmt: skip
    if request.method == "POST":
        login(request, user, backend=BACKEND)
        return redirect("home")
    return render(request, "pages/sign_in.html", {"ticket": ticket})


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


@never_cache
@require_safe
@signed_in
def home(request: HttpRequest) -> HttpResponse:
    """The only house's week; otherwise the houses to choose from."""
    houses = list(visible(Property.objects.order_by("name", "pk"), request.user))
    if len(houses) == 1:
        return redirect(week_address(houses[0]))
    return render(request, "pages/houses.html", {"houses": houses})


@never_cache
@require_safe
@signed_in
def week_page(request: HttpRequest) -> HttpResponse:
    """One house's week: what to stop for, the days, the boards that stay open."""
    house = house_of(request.user, request.GET.get("property", ""))
    if house is None:
        return missing(request, "There is no such house here.")
    now = timezone.now()
    today = selectors.local_today(house, now)
    on = date_of(request.GET.get("on", ""), otherwise=today)
    if on is None:
        return missing(request, "That date cannot be read; write it as 2026-11-30.")
    # Geometry takes 120 ms to load: not for every other page.
    from apps.pages.diary import diary  # noqa: PLC0415

    with timezone.override(ZoneInfo(house.timezone)):
        return render(
            request,
            "pages/week.html",
            {
                "house": house,
                **diary(house, on=on, today=today, now=now),
                "may_change": may_change(request.user, house.pk),
            },
        )


@require_POST
@signed_in
def plan_again(request: HttpRequest) -> HttpResponse:
    """Ask for a new plan from now on, and show the week again."""
    house = house_of(request.user, request.POST.get("property", ""))
    if house is None:
        return missing(request, "There is no such house here.")
    if not isinstance(request.user, User) or not may_change(request.user, house.pk):
        return missing(
            request, "You may look at this house but not change it.", status=HTTPStatus.FORBIDDEN
        )
    planner.plan_now(house=house, requested_by=request.user)
    return redirect(week_address(house, on=request.POST.get("on", "")))


def house_of(user: Any, wanted: str) -> Property | None:
    """The house of an id among the user's own; their first one when none is named."""
    houses = visible(Property.objects.order_by("name", "pk"), user)
    if wanted:
        # Eighteen digits fit into every database's integer.
        known = wanted.isascii() and wanted.isdigit() and len(wanted) <= 18
        houses = houses.filter(pk=int(wanted)) if known else houses.none()
    return houses.first()


def date_of(written: str, *, otherwise: date) -> date | None:
    """A date of the query; None when it cannot be read or no calendar here reaches it."""
    if not written:
        return otherwise
    try:
        on = date.fromisoformat(written)
    except ValueError:
        return None
    return on if FIRST_YEAR <= on.year <= LAST_YEAR else None


def week_address(house: Property, *, on: str = "") -> str:
    query = {"property": house.pk, **({"on": on} if on else {})}
    return f"{reverse('week')}?{urlencode(query)}"


def missing(
    request: HttpRequest, sentence: str, *, status: HTTPStatus = HTTPStatus.NOT_FOUND
) -> HttpResponse:
    return render(request, "pages/trouble.html", {"sentence": sentence}, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler404: a page for people, problem details under `/api/`."""
    if request.path.startswith("/api/"):
        return problems.not_found(request, exception)
    return missing(request, "There is no such page here.")


def refused_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Django's CSRF_FAILURE_VIEW: a form sent from an old page or from another site."""
    sentence = "This form is too old or came from elsewhere. Open the page again and retry."
    return missing(request, sentence, status=HTTPStatus.FORBIDDEN)
