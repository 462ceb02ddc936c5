"""PostgreSQL restarted, stopped in order and killed, while clients write and a plan is made."""

from __future__ import annotations

import time

import psycopg

from tests.installation import until
from tests.services.conftest import LONG
from tests.services.faults import (
    nothing_lost_or_done_twice,
    post,
    rooms_of,
    tell_workers,
    write_on,
)

RESTARTS = 10 if LONG else 2
SECONDS_BETWEEN = 5 if LONG else 2
SWEEP = "apps.planning.tasks.requeue_left_plans"


def test_what_was_acknowledged_is_there_once_after_restarts_under_load(
    grown, postgres, database, own_redis, worker, record_property
):
    house, planned = grown.seed(), grown.seed()
    before = rooms_of(grown, house)
    worker()

    def restarts():
        for n in range(RESTARTS):
            time.sleep(SECONDS_BETWEEN)
            postgres.stop("immediate" if n % 2 else "fast")
            postgres.start()

    def ask_for_plan(service, key):
        body = {"property": planned["property"], "seconds": 0.5}
        return post(service, "plans/", body, key)

    tally = write_on(
        grown, house, seconds=RESTARTS * (SECONDS_BETWEEN + 2), meanwhile=restarts,
        also=ask_for_plan,
    )  # fmt: skip

    with psycopg.connect(database, autocommit=True) as sql:
        # A minute and a half goes by.
        sql.execute(
            "UPDATE planning_plan SET progressed_at = progressed_at - interval '10 minutes',"
            " handed_out_at = handed_out_at - interval '10 minutes'"
            " WHERE state IN ('queued', 'solving')"
        )
        until(lambda: asked_again(own_redis) or unfinished(sql) == 0, "all plans")
        [plans] = sql.execute(
            "SELECT count(*) FROM planning_plan WHERE property_id = %s", [planned["property"]]
        ).fetchone()

    nothing_lost_or_done_twice(grown, house, tally, before)
    assert set(tally.statuses) <= {0, 201, 202, 409, 503}
    assert plans == tally.also_done
    rows = grown.get(f"plans/?property={planned['property']}&page_size=200").json()["results"]
    assert {row["status"] for row in rows} <= {"ready", "superseded"}
    assert sum(row["is_current"] for row in rows) == 1
    record_property("restarts", RESTARTS)
    record_property("writes meanwhile", tally.told())


def asked_again(own_redis):
    tell_workers(own_redis.address, SWEEP)
    time.sleep(0.5)


def unfinished(sql):
    return sql.execute(
        "SELECT count(*) FROM planning_plan WHERE state IN ('queued', 'solving')"
    ).fetchone()[0]
