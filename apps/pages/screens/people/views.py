"""One's own tokens for the API: seen, made, revoked. They belong to a person and to no house."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any, cast

from django.contrib.auth.models import User
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from apps.pages.base import say
from apps.pages.visiting import id_of, signed_in
from renovation.models import AccessToken
from renovation.tokens import MOST_DAYS, USUAL_DAYS, make_token, tokens_of

TEMPLATE = "pages/people/tokens.html"
LONGEST_NAME = 60


@never_cache
@require_safe
@signed_in
def tokens_page(request: HttpRequest) -> HttpResponse:
    return shown(request)


@never_cache
@require_POST
@signed_in
def make(request: HttpRequest) -> HttpResponse:
    """Make a token and show its secret, this once.

    The page is the answer itself: a secret kept for a next page would be kept somewhere.
    """
    name, days = request.POST.get("name", "").strip(), id_of(request.POST.get("days", ""))
    wrong = {}
    if not 1 <= len(name) <= LONGEST_NAME:
        wrong["name"] = f"Say what it is for, in at most {LONGEST_NAME} letters."
    if days is None or not 1 <= days <= MOST_DAYS:
        wrong["days"] = f"From 1 to {MOST_DAYS} days."
    if wrong or days is None:
        return shown(request, wrong=wrong, name=name, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    made, secret = make_token(user=cast("User", request.user), name=name, days=days)
    return shown(request, fresh={"token": made, "secret": secret})


@never_cache
@require_POST
@signed_in
@transaction.atomic
def revoke(request: HttpRequest) -> HttpResponse:
    """End one. There is no way back but a new one."""
    theirs = AccessToken.objects.filter(user=cast("User", request.user))
    token = theirs.filter(pk=id_of(request.POST.get("token", "")) or 0).first()
    if token is None:
        raise Http404
    name = token.name
    token.delete()
    say(request, f"Revoked: {name} opens nothing now.")
    return redirect("tokens")


def shown(request: HttpRequest, *, status: int = HTTPStatus.OK, **more: Any) -> HttpResponse:
    context = {
        "tokens": tokens_of(cast("User", request.user), now=timezone.now()),
        "usual_days": USUAL_DAYS,
        "most_days": MOST_DAYS,
        **more,
    }
    return render(request, TEMPLATE, context, status=status)
