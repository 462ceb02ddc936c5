"""Which request a log line, a problem and a task belong to.

Every request has an id: the sender's `X-Request-ID`, if it is a sane one, else one made here.
It goes back with the answer, into every log line and problem meanwhile, and along with each
task that the request hands out, also when a worker does it hours later.
"""

from __future__ import annotations

import logging
import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar
from time import perf_counter
from typing import Any

from celery import signals
from django.conf import settings
from django.http import HttpRequest, HttpResponse

log = logging.getLogger("renovation.requests")

HEADER = "X-Request-ID"
# Long enough to be one, shorter than any secret; nothing that breaks a line or a header.
SANE = re.compile(r"[A-Za-z0-9._-]{8,39}")
QUIET = {"/healthz", "/readyz", "/metrics"}

request_now: ContextVar[str] = ContextVar("request", default="")
task_now: ContextVar[str] = ContextVar("task", default="")
_outside: ContextVar[tuple[tuple[str, str], ...]] = ContextVar("outside", default=())
"""Request and task that each running task was started in, the innermost last."""


class RequestIds:
    """Middleware, outermost: gives the request its id, and says in one line how it went."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = request.headers.get(HEADER, "")
        known = request_now.set(asked if SANE.fullmatch(asked) else str(uuid.uuid4()))
        began = perf_counter()
        try:
            response = self.get_response(request)
            response[HEADER] = request_now.get()
            if request.path not in QUIET:
                note(request, response, perf_counter() - began)
            return response
        finally:
            request_now.reset(known)


def note(request: HttpRequest, response: HttpResponse, seconds: float) -> None:
    """Log a request by its route, never its address: some addresses are secrets."""
    method, route = request.method or "", route_of(request)
    log.info(
        "%s %s %s", method, route, response.status_code,
        extra={
            "method": method, "route": route, "status": response.status_code,
            "milliseconds": round(seconds * 1000),
        },
    )  # fmt: skip
    if settings.METRICS:
        from renovation import metrics  # noqa: PLC0415 (only where somebody measures)

        metrics.request_done(method, route, response.status_code, seconds)


def route_of(request: HttpRequest) -> str:
    """The name of the address's pattern; `none` for what no pattern knows."""
    match = request.resolver_match
    return (match.view_name or "unnamed") if match else "none"


@signals.before_task_publish.connect
def send_along(headers: dict[str, Any] | None = None, **kwargs: Any) -> None:
    """Write the request's id on the task it hands out."""
    if headers is not None and request_now.get():
        headers["request_id"] = request_now.get()


@signals.task_prerun.connect
def take_up(task_id: str = "", task: Any = None, **kwargs: Any) -> None:
    """Be in the task: in-process within its request, in a worker with the id it was sent."""
    request: Any = getattr(task, "request", None)
    # A message's own headers are the request's attributes; of a local call, its `headers`.
    sent = getattr(request, "request_id", "") or (getattr(request, "headers", None) or {}).get(
        "request_id"
    )
    _outside.set((*_outside.get(), (request_now.get(), task_now.get())))
    request_now.set(sent or request_now.get())
    task_now.set(task_id)


@signals.task_postrun.connect
def put_down(**kwargs: Any) -> None:
    """Be where we were before the task."""
    if outside := _outside.get():
        *outer, (request, task) = outside
        _outside.set(tuple(outer))
        request_now.set(request)
        task_now.set(task)


@signals.setup_logging.connect
def keep_our_lines(loglevel: int | str | None = None, **kwargs: Any) -> None:
    """A worker writes its log as the web process does; it may say more."""
    if loglevel:
        logging.getLogger().setLevel(loglevel)


@signals.worker_init.connect
def answer_measures(**kwargs: Any) -> None:
    """A worker's own measures, where a port is set for them."""
    if settings.METRICS and settings.METRICS_PORT:
        from renovation import metrics  # noqa: PLC0415 (only where somebody measures)

        metrics.answer_on(settings.METRICS_PORT)
