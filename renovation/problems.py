"""Every error of the API as RFC 9457 problem details, in one place.

Services raise `Problem`; REST framework, Django and the database raise their own. All of
them leave here as `application/problem+json` with `type`, `title`, `status`, `detail` and
`errors` of `{pointer, detail}`, where a pointer is an RFC 6901 JSON Pointer into the body.
"""

from __future__ import annotations

import json
import logging
import sys
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.core.exceptions import ValidationError as DjangoValidationError
from django.db import DataError, IntegrityError, InterfaceError, OperationalError
from django.db.models import ProtectedError, RestrictedError
from django.http import Http404, HttpRequest, HttpResponse
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import set_rollback

from renovation.errors import Problem
from renovation.full_disks import is_full
from renovation.request_ids import request_now

CONTENT_TYPE = "application/problem+json"
TYPE_BASE = "/docs/reference/problems#"
log = logging.getLogger(__name__)

TITLES = {
    "invalid": "Something in the request needs mending",
    "malformed": "The request could not be read",
    "not-authenticated": "Sign in first",
    "signed-in-only": "A token is not enough here",
    "wrong-origin": "Sent by another site",
    "not-allowed": "You may look but not change this",
    "not-found": "Not found",
    "method-not-allowed": "This cannot be done here",
    "not-acceptable": "No such format here",
    "unsupported-media-type": "Send JSON",
    "too-many-requests": "Too many requests",
    "too-large": "The request is too large",
    "conflict": "It clashes with what is recorded",
    "in-use": "Something else still needs it",
    "busy": "The database is busy",
    "database-away": "The database does not answer",
    "no-room": "No room on the server",
    "not-ready": "Not ready",
    "stale": "Changed since you opened it",
    "failed": "Something went wrong here",
}
BY_EXCEPTION: tuple[tuple[type[Exception], str], ...] = (
    (exceptions.ParseError, "malformed"),
    (exceptions.ValidationError, "invalid"),
    (exceptions.AuthenticationFailed, "not-authenticated"),
    (exceptions.NotAuthenticated, "not-authenticated"),
    (exceptions.PermissionDenied, "not-allowed"),
    (exceptions.NotFound, "not-found"),
    (exceptions.MethodNotAllowed, "method-not-allowed"),
    (exceptions.NotAcceptable, "not-acceptable"),
    (exceptions.UnsupportedMediaType, "unsupported-media-type"),
    (exceptions.Throttled, "too-many-requests"),
)


def body(
    code: str, detail: str, status: int, errors: list[dict[str, str]], **extra: Any
) -> dict[str, Any]:
    """The members of a problem, RFC 9457 section 3.1, with ours behind them."""
    return {
        "type": f"{TYPE_BASE}{code}",
        "title": TITLES.get(code, code.replace("-", " ").capitalize()),
        "status": status,
        "detail": detail,
        "errors": errors,
        **occurrence(),
        **extra,
    }


def occurrence() -> dict[str, str]:
    """Which occurrence it is: the id under which the log tells of the request."""
    found = request_now.get()
    return {"instance": f"/requests/{found}"} if found else {}


def handle(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """REST framework's exception handler. None lets an unknown exception become a 500."""
    problem = as_problem(exc)
    if problem is None:
        return None
    set_rollback()
    response = Response(
        body(problem.code, problem.detail, problem.status_code, problem.errors, **problem.extra),
        status=problem.status_code,
        content_type=CONTENT_TYPE,
    )
    if isinstance(exc, exceptions.APIException):
        for header, attribute in (("WWW-Authenticate", "auth_header"), ("Retry-After", "wait")):
            if value := getattr(exc, attribute, None):
                response[header] = str(value)
    return response


def as_problem(exc: Exception) -> Problem | None:
    """Translate what was raised; None when it is not ours to explain."""
    if isinstance(exc, Problem):
        return exc
    if isinstance(exc, Http404):
        return Problem("not-found", "There is nothing here under that id.", status_code=404)
    if isinstance(exc, PermissionDenied):
        return Problem("not-allowed", "You may look but not change this.", status_code=403)
    if isinstance(exc, RequestDataTooBig):
        return Problem("too-large", "The request is larger than this accepts.", status_code=413)
    if isinstance(exc, DjangoValidationError):
        exc = exceptions.ValidationError(exceptions_detail(exc))
    if isinstance(exc, exceptions.APIException):
        return from_rest_framework(exc)
    return from_database(exc)


def from_rest_framework(exc: exceptions.APIException) -> Problem:
    code = next((code for kind, code in BY_EXCEPTION if isinstance(exc, kind)), "failed")
    if not isinstance(exc, exceptions.ValidationError):
        return Problem(code, str(exc.detail), status_code=exc.status_code)
    errors = list(pointed(exc.detail, ""))
    first = errors[0]["detail"] if errors else "Something in the request needs mending."
    more = len(errors) - 1
    detail = first if not more else f"{first} (and {more} more)"
    return Problem("invalid", detail, status_code=400, errors=errors)


def from_database(exc: Exception) -> Problem | None:
    if isinstance(exc, ProtectedError | RestrictedError):
        kept = exc.protected_objects if isinstance(exc, ProtectedError) else exc.restricted_objects
        names = sorted({str(row._meta.verbose_name) for row in kept})
        told = " and ".join(f"{'an' if name[0] in 'aeiou' else 'a'} {name}" for name in names)
        return Problem("in-use", f"It cannot go while it still has {told}.")
    if isinstance(exc, IntegrityError):
        return Problem(
            "conflict", "Someone else's change or a rule of the record stands against it."
        )
    if isinstance(exc, DataError | OverflowError):
        return Problem("invalid", "A number in the request is too large to keep.", status_code=400)
    return from_machine(exc)


def from_machine(exc: BaseException | None) -> Problem | None:
    """What passes by itself or needs a hand on the server; None when the program is at fault."""
    said = str(exc)
    if isinstance(exc, OperationalError) and "locked" in said:
        return Problem("busy", "The database is busy; try again in a moment.", status_code=503)
    if is_full(exc):
        return Problem(
            "no-room",
            "The server's disk is full; nothing was kept. Make room, then send it again.",
            status_code=507,
        )  # fmt: skip
    # SQLite says as much of a table that is missing, which no waiting heals.
    over_a_network = type(exc.__cause__).__module__.startswith("psycopg") if exc else False
    if isinstance(exc, OperationalError | InterfaceError) and over_a_network:
        return database_away()
    return None


def database_away() -> Problem:
    return Problem(
        "database-away", "The database does not answer just now; try again in a moment.",
        status_code=503,
    )  # fmt: skip


def exceptions_detail(exc: DjangoValidationError) -> dict[str, list[str]]:
    return exc.message_dict if hasattr(exc, "error_dict") else {"non_field_errors": exc.messages}


def pointed(detail: Any, pointer: str) -> Iterator[dict[str, str]]:
    """Walk REST framework's nested errors into pointers: lists of errors stay at their field,
    lists of items get an index, `non_field_errors` and `__all__` belong to the parent."""
    if isinstance(detail, Mapping):
        for key, value in detail.items():
            whole = key in {"non_field_errors", "__all__"}
            step = str(key).replace("~", "~0").replace("/", "~1")
            yield from pointed(value, pointer if whole else f"{pointer}/{step}")
    elif isinstance(detail, list | tuple):
        for index, value in enumerate(detail):
            nested = isinstance(value, Mapping | list | tuple)
            if not nested or value:
                yield from pointed(value, f"{pointer}/{index}" if nested else pointer)
    else:
        yield {"pointer": pointer, "detail": str(detail)}


def plain_response(code: str, detail: str, status: HTTPStatus) -> HttpResponse:
    """A problem for the places that REST framework never sees."""
    return HttpResponse(
        json.dumps(body(code, detail, status, [])), status=status, content_type=CONTENT_TYPE
    )


def not_found(request: HttpRequest | Request, exception: Exception) -> HttpResponse:
    """Django's handler404, for addresses that no route knows."""
    return plain_response("not-found", "There is no such address here.", HTTPStatus.NOT_FOUND)


def bad_request(request: HttpRequest | Request, exception: Exception) -> HttpResponse:
    """Django's handler400: a host it does not serve, a body it refuses to read."""
    return plain_response("malformed", "The request could not be read.", HTTPStatus.BAD_REQUEST)


def server_error(request: HttpRequest) -> HttpResponse:
    """Django's handler500: says nothing of the inside, but of what passes by itself."""
    problem = from_machine(sys.exc_info()[1])
    if problem is not None:
        return plain_response(problem.code, problem.detail, HTTPStatus(problem.status_code))
    return plain_response(
        "failed",
        "Something went wrong here; nothing was changed.",
        HTTPStatus.INTERNAL_SERVER_ERROR,
    )
