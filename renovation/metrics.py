"""Measures of a running installation, for Prometheus.

Loaded only where `LIFTED_BOARDS_METRICS` is set. Each process counts what it does; where several
do the same (web processes, a worker's children) `PROMETHEUS_MULTIPROC_DIR` names a folder in
which they add up, and a worker answers on a port of its own.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from threading import Thread
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.apps import apps
from django.conf import settings
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare

SHARED = os.environ.get("PROMETHEUS_MULTIPROC_DIR", "")
if SHARED:
    # The library reads the variable when it is loaded, and wants the folder to be there.
    Path(SHARED).mkdir(mode=0o700, parents=True, exist_ok=True)

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest  # noqa: E402
from prometheus_client.core import GaugeMetricFamily  # noqa: E402
from prometheus_client.exposition import CONTENT_TYPE_LATEST  # noqa: E402
from prometheus_client.multiprocess import MultiProcessCollector  # noqa: E402
from prometheus_client.registry import REGISTRY, Collector  # noqa: E402

from renovation.jobs import QUEUED, Job  # noqa: E402

LOOPBACK = {"127.0.0.1", "::1", "::ffff:127.0.0.1"}
FORWARDED = ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED", "HTTP_X_REAL_IP")

REQUESTS = Histogram(
    "lifted_boards_request_seconds",
    "Time to answer, by route name.",
    ["method", "route", "status"],
    buckets=(0.005, 0.01, 0.02, 0.04, 0.06, 0.08, 0.12, 0.25, 0.5, 1, 2.5, 10),
)
SOLVES = Histogram(
    "lifted_boards_plan_solve_seconds",
    "Time to make a plan, reading the house and finding reasons included.",
    buckets=(0.25, 0.5, 1, 2, 4, 8, 15, 30, 60, 120),
)
GAPS = Histogram(
    "lifted_boards_plan_gap",
    "How far the first unproven level of a plan is from its bound, as a share; 0: proven.",
    buckets=(0, 0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.5),
)
ALERTS = Counter(
    "lifted_boards_plan_alerts", "Alerts of the plans that were made, by code.", ["code"]
)


def request_done(method: str, route: str, status: int, seconds: float) -> None:
    REQUESTS.labels(method, route, str(status)).observe(seconds)


def plan_made(*, solve_seconds: float, gap: float | None, alerts: Iterable[dict[str, Any]]) -> None:
    """Count one plan. Without a gap everything about it is proven."""
    SOLVES.observe(solve_seconds)
    GAPS.observe(gap or 0)
    for alert in alerts:
        ALERTS.labels(alert["code"]).inc()


class Jobs(Collector):
    """How many jobs wait and how many are at work, as their rows say now."""

    def collect(self) -> Iterable[GaugeMetricFamily]:
        depth = GaugeMetricFamily(
            "lifted_boards_jobs", "Jobs that wait or are at work.", labels=["kind", "state"]
        )
        kinds: list[Any] = [model for model in apps.get_models() if issubclass(model, Job)]
        for model in kinds:
            rows = model._default_manager.filter(state__in=[QUEUED, model.WORKING])
            counts = dict(rows.order_by().values_list("state").annotate(Count("pk")))
            for state in (QUEUED, model.WORKING):
                depth.add_metric([model._meta.label_lower, state], counts.get(state, 0))
        yield depth


def told(*, jobs: bool) -> bytes:
    """All measures, in the text form that Prometheus reads."""
    registry = CollectorRegistry()
    if jobs:
        registry.register(Jobs())
    if SHARED:
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return generate_latest(registry)
    return generate_latest(REGISTRY) + generate_latest(registry)


def page(request: HttpRequest) -> HttpResponse:
    """`/metrics`: for whoever has the token; without one set, for this machine itself."""
    if not may_read(request.META):
        return HttpResponse(status=404)
    return HttpResponse(told(jobs=True), content_type=CONTENT_TYPE_LATEST)


def may_read(meta: dict[str, Any]) -> bool:
    """Whether the measures are for whoever asks.

    A proxy on this machine is loopback too, so what it passes on is not.
    """
    if settings.METRICS_TOKEN:
        sent = str(meta.get("HTTP_AUTHORIZATION", ""))
        return constant_time_compare(sent, f"Bearer {settings.METRICS_TOKEN}")
    return meta.get("REMOTE_ADDR") in LOOPBACK and not any(meta.get(name) for name in FORWARDED)


class Silent(WSGIRequestHandler):
    def log_message(self, *args: Any) -> None:
        """Whoever reads the measures every 15 s is no news."""


def answer_on(port: int) -> WSGIServer:
    """Answer `/metrics` of a worker, in a thread that ends with it.

    Without a token nobody else could tell himself, so only this machine is answered.
    """

    def app(environ: dict[str, Any], start_response: Any) -> list[bytes]:
        if environ.get("PATH_INFO") != "/metrics" or not may_read(environ):
            start_response("404 Not Found", [])
            return [b""]
        start_response("200 OK", [("Content-Type", CONTENT_TYPE_LATEST)])
        return [told(jobs=False)]

    address = "0.0.0.0" if settings.METRICS_TOKEN else "127.0.0.1"  # noqa: S104  # nosec B104 # only for who has the token
    server = make_server(address, port, app, handler_class=Silent)
    Thread(target=server.serve_forever, name="metrics", daemon=True).start()
    return server
