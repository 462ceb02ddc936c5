"""What a probe and a log say of a real installation: PostgreSQL, Redis, a worker or none."""

from __future__ import annotations

import json
from contextlib import closing
from http.client import HTTPConnection
from urllib.parse import urlsplit

from tests.installation import ask, end, until


def test_it_is_ready_with_a_worker_and_names_it_when_it_is_gone(grown, worker):
    def checks():
        answer = ask(f"{grown.address}/readyz")
        return answer.status, answer.json()["checks"]

    alone = checks()
    started = worker()
    until(lambda: checks()[0] == 200, "the worker to be heard")
    with_worker = checks()
    end(started)
    until(lambda: checks()[0] == 503, "the worker to be missed")

    assert alone[0] == 503
    assert with_worker == (
        200,
        dict.fromkeys(("database", "broker", "worker", "data_folder"), "ready"),
    )
    assert checks()[1]["worker"].startswith("No worker answered")


def test_the_workers_lines_have_the_id_of_the_request_that_asked(grown, worker):
    house = grown.seed()["property"]
    request_id = "asked-by-the-test"
    answer = ask(
        f"{grown.address}/api/v1/plans/",
        token=grown.token,
        body={"property": house, "seconds": 1},
        headers=[("X-Request-ID", request_id)],
    )
    assert answer.status == 202
    started = worker()
    until(
        lambda: grown.get(f"plans/{answer.json()['id']}/").json()["status"] == "ready", "the plan"
    )
    end(started)

    lines = [
        json.loads(line)
        for path in grown.installation.folder.glob("*.log")
        for line in path.read_text().splitlines()
        if line.startswith("{")
    ]
    of_request = [line for line in lines if line.get("request_id") == request_id]
    assert any(line.get("route") == "plans-list" for line in of_request)
    assert any(line.get("task_id") for line in of_request)
    assert grown.token not in json.dumps(lines)


def test_no_log_holds_the_address_of_a_link_that_is_a_secret(grown):
    """Of none that there is, none that there is not, and none that came to grief on the way."""
    parts = [f"{number}RoWG4_nVFupLLB8qWI5MJcgKMEqU-gCkVz4NHrbAoT" for number in range(3)]
    host = urlsplit(grown.address).netloc

    answers = [ask(f"{grown.address}/visit/{part}/").status for part in parts[:1]]
    answers += [ask(f"{grown.address}/feed/{part}.ics").status for part in parts[1:2]]
    with closing(HTTPConnection(host)) as web:
        web.putrequest("POST", f"/visit/{parts[2]}/")
        web.putheader("Content-Length", "1000")
        web.endheaders(b"cut off")
    until(lambda: "visit-link" in grown.installation.log("web"), "the request's line")

    assert answers == [404, 404]
    assert "RoWG4_nVFupLLB8qWI5MJcgKMEqU" not in grown.installation.log("web")
