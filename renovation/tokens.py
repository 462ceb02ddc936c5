"""Tokens for the API: made, found again by their digest, and slowed down when guessed at."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpRequest
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.request import Request

from renovation.guessing import guesses
from renovation.models import AccessToken

USUAL_DAYS = 90
MOST_DAYS = 366
UNKNOWN = (
    "This token is not known here: mistyped, revoked, or past its days. Make a fresh one with "
    "manage.py token."
)
TOO_MANY = "Too many wrong tokens came from there; wait a minute."


def make_token(*, user: User, name: str, days: int) -> tuple[AccessToken, str]:
    """A fresh token and its secret, which nobody can read back later."""
    # The manager is the library's, which ships no types.
    manager: Any = AccessToken.objects
    made: tuple[AccessToken, str] = manager.create(user, expiry=timedelta(days=days), name=name)
    return made


def tokens_of(user: User, *, now: datetime) -> list[AccessToken]:
    """The tokens that still open the door, newest first."""
    return list(AccessToken.objects.filter(user=user, expiry__gt=now))


class ByToken(TokenAuthentication):  # type: ignore[misc] # it ships no types
    """`Authorization: Token …`. Who sends too many wrong ones waits for the next minute."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        if not request.headers.get("Authorization"):
            return None
        wrong = guesses("token", request)
        if wait := wrong.seconds_to_wait():
            raise Throttled(wait, TOO_MANY)
        try:
            found: tuple[Any, Any] | None = super().authenticate(request)
        except (AuthenticationFailed, UnicodeDecodeError) as exc:
            wrong.count()
            raise AuthenticationFailed(UNKNOWN) from exc
        return found


def is_by_token(request: HttpRequest | Request) -> bool:
    """Whether a token opened the door for this request, and not a signed-in browser."""
    return isinstance(getattr(request, "auth", None), AccessToken)
