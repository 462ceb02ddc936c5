"""Measures for Prometheus: only where wanted, only for whom they are, and true."""

from __future__ import annotations

from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from apps.planning.models import Plan
from renovation import metrics
from tests import factories
from tests.api.houses import crew, package, plan
from tests.installation import free_port

TOKEN = "a-token-for-the-measures"


@pytest.fixture
def measured(settings):
    """A server that measures; the middleware is made anew with each client."""
    settings.METRICS = True
    return settings


def samples(text):
    return {
        (sample.name, *sorted(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def measure(**headers):
    return Client(headers=headers).get("/metrics")


def test_there_are_none_unless_they_are_wanted(db):
    assert measure().status_code == 404


def test_without_a_token_only_this_machine_is_answered(db, measured):
    assert measure().status_code == 200
    assert Client(REMOTE_ADDR="10.0.0.9").get("/metrics").status_code == 404


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "X-Real-IP"])
def test_what_a_proxy_on_this_machine_passes_on_is_not_this_machine(db, measured, header):
    assert measure(**{header: "10.0.0.9"}).status_code == 404


@pytest.mark.parametrize("sent", ["", "Bearer wrong", f"Token {TOKEN}", f"bearer{TOKEN}"])
def test_where_a_token_is_set_it_is_needed(db, measured, sent):
    measured.METRICS_TOKEN = TOKEN

    assert measure(authorization=sent).status_code == 404
    assert measure(authorization=f"Bearer {TOKEN}").status_code == 200


def test_requests_are_counted_by_the_name_of_their_route(client, house, measured):
    before = samples(measure().text)
    Client().get("/api/v1/rooms/")
    Client().get(f"/feed/{'x' * 43}.ics")
    after = samples(measure().text)

    count = ("lifted_boards_request_seconds_count", "401", "GET", "rooms-list")
    assert after[count] == before.get(count, 0) + 1
    assert not [key for key in after if "x" * 43 in "".join(key)]


def test_a_plan_counts_its_time_its_gap_and_its_alerts(
    house, measured, django_capture_on_commit_callbacks
):
    crew(house)
    factories.TaskFactory(package=package(house))
    before = samples(measure().text)

    with django_capture_on_commit_callbacks(execute=True):
        made = plan(house)

    after = samples(measure().text)
    for name in ("lifted_boards_plan_solve_seconds_count", "lifted_boards_plan_gap_count"):
        assert after[(name,)] == before[(name,)] + 1
    spent = "lifted_boards_plan_solve_seconds_sum"
    assert after[(spent,)] - before[(spent,)] == pytest.approx(made.solve_seconds)


def test_alerts_are_counted_by_code(db):
    metrics.plan_made(
        solve_seconds=1, gap=0.01, alerts=[{"code": "route_cut"}, {"code": "route_cut"}]
    )

    assert samples(metrics.told(jobs=False).decode())[
        "lifted_boards_plan_alerts_total", "route_cut"
    ] >= 2  # fmt: skip


def test_the_queue_is_as_deep_as_its_rows(house, measured):
    for _ in range(3):
        Plan.objects.create(property=house, as_of=timezone.now())

    found = samples(measure().text)

    assert found["lifted_boards_jobs", "planning.plan", "queued"] == 3
    assert found["lifted_boards_jobs", "planning.plan", "solving"] == 0


def test_a_worker_answers_on_a_port_of_its_own(db, measured):
    measured.METRICS_TOKEN = TOKEN
    port = free_port()
    server = metrics.answer_on(port)
    address = f"http://127.0.0.1:{port}/metrics"

    with urlopen(
        Request(address, headers={"Authorization": f"Bearer {TOKEN}"}), timeout=10
    ) as told:
        assert b"lifted_boards_plan_solve_seconds" in told.read()
    with pytest.raises(HTTPError) as refused:
        urlopen(address, timeout=10)
    refused.value.close()
    server.shutdown()
    server.server_close()

    assert refused.value.code == 404
