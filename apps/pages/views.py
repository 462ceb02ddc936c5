"""The pages: forms in, services called, templates out. No rules of their own."""

from __future__ import annotations

from http import HTTPStatus

from axes.helpers import get_cool_off
from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.pages import demo_house
from apps.pages.owner import LONGEST_PASSWORD, spend_ticket, user_of_ticket
from apps.pages.visiting import REMEMBERED, signed_in, trouble
from apps.property.models import Property
from renovation import problems
from renovation.guessing import guesses
from renovation.scope import visible

SAFE_OR_POST = ["GET", "HEAD", "POST"]
WRONG = "This name and password do not belong together."
BACKEND = "django.contrib.auth.backends.ModelBackend"


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(SAFE_OR_POST)
def how_to_sign_in(request: HttpRequest) -> HttpResponse:
    """Where someone lands who is not signed in: with a name and a password, or by an address."""
    if request.method != "POST":
        return render(request, "pages/sign_in.html", {"trouble": ""})
    wrong = guesses("password", request)
    if wait := wrong.seconds_to_wait():
        return too_often(request, wait)
    name, word = request.POST.get("username", "")[:150], request.POST.get("password", "")
    found = len(word) <= LONGEST_PASSWORD and authenticate(request, username=name, password=word)
    if isinstance(found, User):
        login(request, found)
        return redirect("home")
    wrong.count()
    return render(
        request, "pages/sign_in.html", {"wrong": WRONG, "name": name},
        status=HTTPStatus.UNPROCESSABLE_ENTITY,
    )  # fmt: skip


@login_not_required
@never_cache
@require_http_methods(SAFE_OR_POST)
def sign_in(request: HttpRequest, ticket: str) -> HttpResponse:
    """One button. Opening the address changes nothing, so a link preview cannot use it up."""
    user = spend_ticket(ticket) if request.method == "POST" else user_of_ticket(ticket)
    if user is None:
        trouble = "This sign-in address was used before, or is too old."
        return render(
            request, "pages/sign_in.html", {"trouble": trouble}, status=HTTPStatus.GONE
        )  # fmt: skip
    if request.method == "POST":
        login(request, user, backend=BACKEND)
        return redirect("home")
    return render(request, "pages/sign_in.html", {"ticket": ticket})


def locked_out(request: HttpRequest, *rest: object) -> HttpResponse:
    """Axes' AXES_LOCKOUT_CALLABLE: too many wrong passwords for one name."""
    pause = get_cool_off(request)
    return too_often(request, int(pause.total_seconds()) if pause else 0)


def too_often(request: HttpRequest, seconds: int) -> HttpResponse:
    """Nothing is looked at for a while, right or wrong."""
    minutes = -(-seconds // 60)
    wait = "a minute" if minutes == 1 else f"{minutes} minutes"
    sentence = (
        f"Too many wrong passwords. Wait {wait}, or open a sign-in address: manage.py sign_in "
        "prints one, and it works at once."
    )
    answer = trouble(request, sentence, status=HTTPStatus.TOO_MANY_REQUESTS)
    answer["Retry-After"] = str(seconds)
    return answer


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
    sentence = "This form is too old or came from another site. Open the page again and retry."
    return trouble(request, sentence, status=HTTPStatus.FORBIDDEN)
