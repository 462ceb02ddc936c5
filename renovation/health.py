"""Is it alive, is it ready: two addresses for whoever restarts it or sends it work.

They are answered before anything else, so also for a host name that the pages refuse: a
probe inside a container asks 127.0.0.1, one outside asks an address nobody listed. What
they say names our own parts and nothing of a house, an address or a password.
"""

from __future__ import annotations

import json
import logging
import shutil
import tempfile
from collections.abc import Callable
from http import HTTPStatus
from threading import Lock
from time import monotonic

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connections
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from renovation import beat
from renovation.problems import CONTENT_TYPE, body

log = logging.getLogger(__name__)

QUICK_SECONDS = 2
KEPT_SECONDS = 2.0
"""Nobody is helped by asking more often, and the addresses are open to all."""


class NotReady(Exception):
    """Why something is not ready, in a sentence without addresses or secrets."""


class HealthFirst:
    """Middleware: `/healthz`, `/readyz` and `/metrics`, ahead of every other rule."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.addresses: dict[str, Callable[[HttpRequest], HttpResponse]] = {
            "/healthz": alive,
            "/readyz": ready,
        }
        if settings.METRICS:
            from renovation import metrics  # noqa: PLC0415 (only where somebody measures)

            self.addresses["/metrics"] = metrics.page

    def __call__(self, request: HttpRequest) -> HttpResponse:
        view = self.addresses.get(request.path)
        if view is None:
            return self.get_response(request)
        if request.method not in {"GET", "HEAD"}:
            return HttpResponseNotAllowed(["GET", "HEAD"])
        response = view(request)
        response["Cache-Control"] = "no-store"
        return response


def alive(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is asked."""
    return answered(HTTPStatus.OK, "application/json", {"alive": True})


def ready(request: HttpRequest) -> HttpResponse:
    """Whether all that a request needs is there; 503 names what is not."""
    faults = found_recently()
    told = {name: faults.get(name, "ready") for name, check in CHECKS.items() if asked(name)}
    if not faults:
        return answered(HTTPStatus.OK, "application/json", {"ready": True, "checks": told})
    status = HTTPStatus.SERVICE_UNAVAILABLE
    detail = f"Not ready: {', '.join(name.replace('_', ' ') for name in faults)}."
    return answered(status, CONTENT_TYPE, body("not-ready", detail, status, [], checks=told))


def answered(status: HTTPStatus, content_type: str, told: dict[str, object]) -> HttpResponse:
    return HttpResponse(json.dumps(told), status=status, content_type=content_type)


def database() -> None:
    """A connection of its own, with its own patience: the pages' may be waiting already."""
    connection = connections.create_connection(DEFAULT_DB_ALIAS)
    options = {**connection.settings_dict["OPTIONS"]}
    if connection.vendor == "postgresql":
        # A pool would hand out a connection that was made while all was well.
        options.pop("pool", None)
        options["connect_timeout"] = QUICK_SECONDS
        slow = f"-c statement_timeout={QUICK_SECONDS * 1000}"
        options["options"] = f"{options.get('options', '')} {slow}".strip()
    else:
        options["timeout"] = QUICK_SECONDS
    connection.settings_dict = {**connection.settings_dict, "OPTIONS": options}
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM django_migrations LIMIT 1")
            found = cursor.fetchone()
    except Exception as error:
        raise NotReady("The database does not answer.") from error
    finally:
        connection.close()
    if found is None:
        raise NotReady("The database has no tables yet; run manage.py migrate.")


def broker() -> None:
    """Redis answers a ping."""
    from redis import Redis, RedisError  # noqa: PLC0415 (only where there is one)

    try:
        with Redis.from_url(
            settings.REDIS_URL, socket_timeout=QUICK_SECONDS, socket_connect_timeout=QUICK_SECONDS
        ) as client:
            client.ping()
    except (RedisError, OSError) as error:
        raise NotReady("The queue does not answer.") from error


def worker() -> None:
    """Any worker answers through the queue; one in the middle of a plan does too."""
    from renovation.celery import app  # noqa: PLC0415 (only where there are workers)

    patience = {"socket_timeout": QUICK_SECONDS, "socket_connect_timeout": QUICK_SECONDS}
    try:
        with app.connection_for_write(
            connect_timeout=QUICK_SECONDS, transport_options=patience
        ) as connection:
            heard = app.control.ping(timeout=QUICK_SECONDS, limit=1, connection=connection)
    except Exception as error:
        raise NotReady("No worker could be asked.") from error
    if not heard:
        raise NotReady(f"No worker answered within {QUICK_SECONDS} seconds.")


def data_folder() -> None:
    """It takes a file, and there is room for more."""
    try:
        with tempfile.TemporaryFile(dir=settings.DATA_DIR) as file:
            file.write(b"room?")
            file.flush()
        free = shutil.disk_usage(settings.DATA_DIR).free
    except OSError as error:
        raise NotReady("The data folder takes no file.") from error
    if free < settings.FREE_BYTES_WANTED:
        raise NotReady(
            f"The data folder has {free // 1024**2} MiB left; "
            f"{settings.FREE_BYTES_WANTED // 1024**2} MiB are wanted."
        )


def own_beat() -> None:
    """The thread that does what happens by itself is there, and not stuck."""
    if beat.running is None or not beat.running.well():
        raise NotReady("Nothing happens by itself any more; start the program again.")


CHECKS: dict[str, Callable[[], None]] = {
    "database": database,
    "broker": broker,
    "worker": worker,
    "beat": own_beat,
    "data_folder": data_folder,
}
GROWN_ONLY = {"broker", "worker"}


def asked(name: str) -> bool:
    if name == "beat":
        # Only `manage.py start` without Redis has one of its own.
        return beat.running is not None
    return bool(settings.REDIS_URL) or name not in GROWN_ONLY


def faults_now() -> dict[str, str]:
    """What is not ready, each with its sentence. Workers are not asked for without a queue."""
    faults: dict[str, str] = {}
    for name, check in CHECKS.items():
        if not asked(name) or (name == "worker" and "broker" in faults):
            continue
        try:
            check()
        except NotReady as reason:
            faults[name] = str(reason)
            log.warning("not ready: %s (%s)", reason, type(reason.__cause__).__name__)
    if "broker" in faults:
        faults["worker"] = "Not asked: the queue does not answer."
    return faults


_one_at_a_time = Lock()
_last: tuple[float, dict[str, str]] | None = None


def found_recently() -> dict[str, str]:
    """What was found at most KEPT_SECONDS ago; several askers at once wait for one answer."""
    global _last  # noqa: PLW0603 (one answer for the whole process)
    with _one_at_a_time:
        if _last is None or monotonic() - _last[0] > KEPT_SECONDS:
            _last = (monotonic(), faults_now())
        return _last[1]


def forget() -> None:
    """Look anew the next time. For tests, and for whoever has just mended something."""
    global _last  # noqa: PLW0603
    _last = None
