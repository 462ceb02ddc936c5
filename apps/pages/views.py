"""The pages: forms in, services called, templates out. No rules of their own."""

from __future__ import annotations

from http import HTTPStatus

from django.contrib.auth import login, logout
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from apps.pages import demo_house
from apps.pages.owner import spend_ticket, user_of_ticket
from apps.pages.visiting import REMEMBERED, signed_in, trouble
from apps.property.models import Property
from renovation import problems
from renovation.scope import visible

BACKEND = "django.contrib.auth.backends.ModelBackend"


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
    """Tonight in the house looked at last, or in the only one; else the houses to choose from."""
    houses = visible(Property.objects.all(), request.user).count()
    if houses == 1 or (houses and REMEMBERED in request.session):
        return redirect("tonight")
    return houses_page(request)


@never_cache
@require_safe
@signed_in
def houses_page(request: HttpRequest) -> HttpResponse:
    """The houses to choose from, and the invented one to look round."""
    houses = visible(Property.objects.order_by("name", "pk"), request.user)
    may_add_demo = isinstance(request.user, User) and demo_house.may_add(request.user)
    return render(request, "pages/houses.html", {"houses": houses, "may_add_demo": may_add_demo})


@never_cache
@require_POST
@signed_in
def look_round(request: HttpRequest) -> HttpResponse:
    """Build the demo house for whoever asks, plan it, and go there."""
    user = request.user
    if not isinstance(user, User) or not demo_house.may_add(user):
        return trouble(
            request, "The invented house is among yours already.", status=HTTPStatus.CONFLICT
        )
    house = demo_house.add(user)
    return redirect(f"{reverse('tonight')}?property={house.pk}")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler404: a page for people, problem details under `/api/`."""
    if request.path.startswith("/api/"):
        return problems.not_found(request, exception)
    return trouble(request, "There is no such page here.")


def refused_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Django's CSRF_FAILURE_VIEW: a form sent from an old page or from another site."""
    sentence = "This form is too old or came from elsewhere. Open the page again and retry."
    return trouble(request, sentence, status=HTTPStatus.FORBIDDEN)
