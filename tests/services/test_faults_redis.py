"""Redis down and restarted: the API goes on, and what was asked for meanwhile is made after it."""

from __future__ import annotations

import time
from contextlib import closing
from http.client import HTTPConnection
from urllib.parse import urlsplit

from renovation.guessing import MOST_WRONG
from tests.installation import until
from tests.services.conftest import LONG, WEB_PROCESSES
from tests.services.faults import (
    nothing_lost_or_done_twice,
    rooms_of,
    tell_workers,
    write_on,
)

DOWN_SECONDS = 60 if LONG else 4
SWEEP = "apps.planning.tasks.requeue_left_plans"
QUICK_SECONDS = 10
"""What a request may take on a machine that does six other things; alone it takes a tenth of it."""


def unfinished(sql):
    return sql.execute(
        "SELECT count(*) FROM planning_plan WHERE state IN ('queued', 'solving')"
    ).fetchone()[0]


def test_the_api_writes_and_takes_plan_requests_while_redis_is_down(
    grown, sql, own_redis, worker, record_property
):
    house, other = grown.seed(), grown.seed()
    before = rooms_of(grown, house)
    worker()
    asked = []

    def ask():
        began = time.monotonic()
        answer = grown.post("plans/", {"property": other["property"], "seconds": 0.5})
        asked.append((answer.status, answer.json()["status"], time.monotonic() - began))

    def down():
        own_redis.stop()
        ends = time.monotonic() + DOWN_SECONDS
        while time.monotonic() < ends:
            ask()
            time.sleep(0.5)
        own_redis.start()

    tally = write_on(grown, house, seconds=DOWN_SECONDS, meanwhile=down)
    until(lambda: not sent_in_vain(own_redis) and unfinished(sql) == 0, "all plans")

    nothing_lost_or_done_twice(grown, house, tally, before)
    assert set(tally.statuses) == {201}
    assert {(status, state) for status, state, _ in asked} == {(202, "queued")}
    rows = grown.get(f"plans/?property={other['property']}&page_size=200").json()["results"]
    assert len(rows) == len(asked)
    assert {row["status"] for row in rows} <= {"ready", "superseded"}
    assert sum(row["is_current"] for row in rows) == 1
    assert max(row["id"] for row in rows if row["status"] == "ready") == max(
        row["id"] for row in rows
    )
    record_property("down for seconds", DOWN_SECONDS)
    record_property("plan requests meanwhile", len(asked))
    record_property("slowest plan request", round(max(took for *_, took in asked), 2))
    record_property("writes meanwhile", tally.told())


def sent_in_vain(own_redis):
    """Beat's message, as often as it takes a worker to hear it again."""
    tell_workers(own_redis.address, SWEEP)
    time.sleep(0.5)


def test_a_message_that_a_restart_lost_is_sent_again(grown, sql, own_redis, worker):
    house = grown.seed()
    plan_id = grown.post("plans/", {"property": house["property"], "seconds": 0.5}).json()["id"]
    told = "SELECT handed_out_at FROM planning_plan WHERE id = %s"
    assert sql.execute(told, [plan_id]).fetchone()[0] is not None
    own_redis.stop()
    own_redis.start()

    # Two minutes go by.
    sql.execute(
        "UPDATE planning_plan SET handed_out_at = handed_out_at - interval '2 minutes'"
        " WHERE id = %s",
        [plan_id],
    )
    worker()
    tell_workers(own_redis.address, SWEEP)
    until(lambda: grown.get(f"plans/{plan_id}/").json()["status"] == "ready", "the plan")

    assert grown.get(f"plans/{plan_id}/").json()["is_current"]


def test_whoever_guesses_is_slowed_down_while_redis_is_away(grown, own_redis, record_property):
    """Each web process counts by itself."""
    own_redis.stop()
    answers = [guessed(grown) for _ in range(MOST_WRONG * WEB_PROCESSES + 1)]
    own_redis.start()

    assert set(answers) == {401, 429}
    assert answers.count(401) <= MOST_WRONG * WEB_PROCESSES
    record_property("wrong tokens looked at", answers.count(401))


def guessed(service):
    """A wrong token's answer; from another address of this machine than the other tests'."""
    web = HTTPConnection(urlsplit(service.address).netloc, source_address=("127.0.0.2", 0))
    with closing(web):
        web.request("GET", "/api/v1/properties/", headers={"Authorization": f"Token {'0' * 64}"})
        return web.getresponse().status
