"""Who sent a browser here: pages of other sites change nothing, whatever they know.

The names in `ALLOWED_HOSTS` keep a name that somebody else points at this machine out (DNS
rebinding). This keeps out what another page, on another name or only on another port, makes a
browser send: also with a token, which Django's own CSRF check does not look at.
"""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any, TypeVar
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse
from django.utils.http import is_same_domain
from django.utils.module_loading import import_string
from rest_framework.permissions import SAFE_METHODS

from renovation.problems import plain_response

# What a browser says of a request of our own page, or of one that a person typed.
OURS = ("", "same-origin", "none")
View = TypeVar("View", bound=Callable[..., Any])
SENTENCE = "A page of another site sent this; nothing was changed."


class OwnPagesOnly:
    """Middleware: refuse a change that a browser sends for a page of another origin."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Answer in the view's place when the request is not from here."""
        if (
            request.method in SAFE_METHODS
            or getattr(view, "from_anywhere", False)
            or is_from_here(request)
        ):
            return None
        if request.path.startswith("/api/"):
            return plain_response("wrong-origin", SENTENCE, HTTPStatus.FORBIDDEN)
        refused: HttpResponse = import_string(settings.CSRF_FAILURE_VIEW)(request, SENTENCE)
        return refused


def from_anywhere(view: View) -> View:
    """Mark a view that asks for a secret in its address, and that no cookie opens."""
    view.from_anywhere = True  # type: ignore[attr-defined]
    return view


def is_from_here(request: HttpRequest) -> bool:
    """Whether the page that sent it is ours, is trusted by the settings, or is no page at all."""
    origin = request.headers.get("Origin", "")
    if origin == f"{request.scheme}://{request.get_host()}":
        return True
    if origin:
        return is_trusted(origin)
    return request.headers.get("Sec-Fetch-Site", "") in OURS


def is_trusted(origin: str) -> bool:
    """Whether `LIFTED_BOARDS_ORIGINS` names it, or all below a name: `https://*.boards.example`."""
    try:
        asked = urlsplit(origin)
    except ValueError:
        return False
    known = (urlsplit(trusted) for trusted in settings.CSRF_TRUSTED_ORIGINS)
    return any(
        asked.scheme == one.scheme and is_same_domain(asked.netloc, one.netloc.lstrip("*"))
        for one in known
    )


class SignedInFirst(LoginRequiredMiddleware):
    """Middleware: every page wants somebody signed in, unless it is marked as open."""

    redirect_field_name = None  # type: ignore[assignment] # no way back is kept in the address
