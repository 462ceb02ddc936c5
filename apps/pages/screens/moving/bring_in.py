"""Bringing a house in: a file sent, how far it is, and then the house. For anybody signed in."""

from __future__ import annotations

from http import HTTPStatus
from secrets import token_hex
from typing import Any, cast

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_POST

from apps.moving import arriving
from apps.moving.models import UNFINISHED_STATES, HouseArrival
from apps.pages.base import say
from apps.pages.visiting import signed_in
from renovation import idempotency
from renovation.errors import Problem
from renovation.scope import visible

TEMPLATE = "pages/moving/bring_in.html"
MOST_SHOWN = 5
CHOOSE = "Choose the file first."


# The middleware would read the file, however large, to look for the form's token, before anybody
# asks who sends it: so who is signed in comes first, and then the same check as everywhere.
@csrf_exempt
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
@csrf_protect
def bring_in(request: HttpRequest) -> HttpResponse:
    """The form with what came of it, and where it is sent."""
    if request.method != "POST":
        return shown(request)
    file = request.FILES.get("file")
    if file is None:
        return shown(request, wrong=CHOOSE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        with transaction.atomic():
            # The form's own number: sent twice by an impatient thumb, it comes in once.
            kept = idempotency.claim(
                key=request.POST.get("key", ""), user=request.user,
                address=request.get_full_path(), sent=[file],
            )  # fmt: skip
            arriving.request_arrival(file=file, requested_by=request.user)
            if kept is not None:
                kept.status_code, kept.answer = HTTPStatus.OK, "{}"
                kept.save()
    except idempotency.AlreadyAnswered:
        return redirect("bring-in")
    except Problem as problem:
        return shown(request, wrong=problem.detail, status=problem.status_code)
    return redirect("bring-in")


@never_cache
@require_POST
@signed_in
@transaction.atomic
def stop(request: HttpRequest) -> HttpResponse:
    """Stop the one that is coming in."""
    row = theirs(request).filter(state__in=UNFINISHED_STATES).first()
    if row is not None:
        arriving.cancel_arrival(row=row)
    say(request, "Stopped; nothing was added." if row else "Nothing is coming in any more.")
    return redirect("bring-in")


def theirs(request: HttpRequest) -> Any:
    return visible(HouseArrival.objects.select_related("property"), cast("User", request.user))


def shown(request: HttpRequest, *, status: int = HTTPStatus.OK, **more: Any) -> HttpResponse:
    rows = list(theirs(request)[:MOST_SHOWN])
    context = {
        "coming": next((row for row in rows if row.state in UNFINISHED_STATES), None),
        "ended": [row for row in rows if row.state in {"ready", "failed"}],
        "most_mib": settings.HOUSE_MAX_BYTES // 1024**2,
        "key": f"bring-in-{token_hex(16)}",
        **more,
    }
    return render(request, TEMPLATE, context, status=status)
