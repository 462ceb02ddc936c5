"""Whether it is alive and ready: what a probe is told, and what it is never told."""

from __future__ import annotations

import shutil
from collections import namedtuple

import pytest
from django.db import OperationalError, connection, connections
from django.test import Client
from django.test.utils import CaptureQueriesContext

from renovation import health

NOWHERE = "redis://:hunter2@127.0.0.1:1/0"
Usage = namedtuple("Usage", "total used free")


@pytest.fixture(autouse=True)
def asked_anew():
    health.forget()
    yield
    health.forget()


@pytest.fixture
def probe():
    """A probe from inside a container: no session, and a host nobody listed."""
    return Client(headers={"host": "10.1.2.3:8000"})


def test_alive_asks_no_database(probe, db):
    with CaptureQueriesContext(connection) as caught:
        answer = probe.get("/healthz")

    assert (answer.status_code, answer.json()) == (200, {"alive": True})
    assert len(caught) == 0


def test_ready_when_the_database_and_the_folder_are(probe, db):
    answer = probe.get("/readyz")

    assert answer.status_code == 200
    assert answer.json() == {
        "ready": True, "checks": {"database": "ready", "data_folder": "ready"},
    }  # fmt: skip
    assert answer["Cache-Control"] == "no-store"


@pytest.mark.parametrize("address", ["/healthz", "/readyz"])
def test_a_probe_only_looks(probe, db, address):
    assert probe.head(address).status_code == 200
    refused = probe.post(address)

    assert (refused.status_code, refused["Allow"]) == (405, "GET, HEAD")


def test_the_pages_still_refuse_a_host_they_do_not_know(probe, db):
    assert probe.get("/sign-in/").status_code == 400


def test_too_little_room_is_named(probe, db, settings, monkeypatch):
    settings.FREE_BYTES_WANTED = 100 * 1024**2
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**9, 10**9, 7 * 1024**2))

    answer = probe.get("/readyz")

    assert answer.status_code == 503
    assert answer["Content-Type"] == "application/problem+json"
    told = answer.json()
    assert told["type"].endswith("#not-ready")
    assert told["detail"] == "Not ready: data folder."
    assert told["checks"] == {
        "database": "ready",
        "data_folder": "The data folder has 7 MiB left; 100 MiB are wanted.",
    }


def test_a_folder_that_takes_no_file_is_named(probe, db, settings, tmp_path):
    settings.DATA_DIR = tmp_path / "gone"

    told = probe.get("/readyz").json()

    assert told["checks"]["data_folder"] == "The data folder takes no file."
    assert str(tmp_path) not in str(told)


def test_a_queue_that_does_not_answer_is_named_and_its_password_is_not(probe, db, settings, caplog):
    settings.REDIS_URL = NOWHERE

    answer = probe.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["detail"] == "Not ready: broker, worker."
    assert answer.json()["checks"]["broker"] == "The queue does not answer."
    assert "hunter2" not in answer.text + caplog.text
    assert "not ready: The queue does not answer." in caplog.text


def test_a_database_that_does_not_answer_is_named(probe, db, monkeypatch):
    monkeypatch.setattr(health.connections, "create_connection", a_lost_connection)

    answer = probe.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["checks"]["database"] == "The database does not answer."
    assert "hunter2" not in answer.text


def a_lost_connection(alias):
    lost = connections[alias].copy(alias)
    lost.get_new_connection = refusing
    return lost


def refusing(parameters):
    raise OperationalError("could not connect as lifted with hunter2")


def test_it_looks_again_only_after_a_moment(probe, db, monkeypatch):
    asked = []
    monkeypatch.setitem(health.CHECKS, "database", lambda: asked.append(1))

    probe.get("/readyz")
    probe.get("/readyz")
    health.forget()
    probe.get("/readyz")

    assert len(asked) == 2
