"""Workers that are killed in the middle of a plan: it is made all the same, and once."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path

import pytest

from tests.installation import end, until
from tests.services.conftest import LONG
from tests.services.faults import tell_workers

KILLS = 10 if LONG else 2
SWEEP = "apps.planning.tasks.requeue_left_plans"
A_WHILE = "UPDATE planning_plan SET progressed_at = progressed_at - interval '10 minutes'"


def children_of(pid):
    """The processes in which a worker does its tasks."""
    found = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    return [int(word) for word in found.split()]


def state(sql, plan_id):
    return sql.execute("SELECT state FROM planning_plan WHERE id = %s", [plan_id]).fetchone()[0]


def made_once(grown, sql, house, plan_id):
    plan = grown.get(f"plans/{plan_id}/").json()
    starts = [(stint["task"], stint["starts"]) for stint in plan["stints"]]
    current = sql.execute(
        "SELECT id FROM planning_plan WHERE property_id = %s AND is_current", [house["property"]]
    ).fetchall()
    return (
        {task for task, _ in starts} == set(house["tasks"])
        and len(starts) == len(set(starts))
        and current == [(plan_id,)]
    )


@pytest.mark.parametrize("what", ["the worker", "its child"])
def test_a_plan_whose_worker_is_killed_is_made_once_by_another(
    grown, sql, own_redis, worker, what, record_property
):
    house, chance = grown.seed(), random.Random(7)
    process = worker()
    begun_again = 0
    for _ in range(KILLS):
        asked = grown.post("plans/", {"property": house["property"], "seconds": 3})
        plan_id = asked.json()["id"]
        until(lambda plan_id=plan_id: state(sql, plan_id) != "queued", "the plan to be begun")
        time.sleep(chance.uniform(0, 0.3))

        if what == "the worker":
            end(process, signal.SIGKILL)
            process = worker()
        else:
            for child in children_of(process.pid):
                os.kill(child, signal.SIGKILL)
        if state(sql, plan_id) == "solving":
            begun_again += 1
            sql.execute(f"{A_WHILE} WHERE id = %s", [plan_id])
            tell_workers(own_redis.address, SWEEP)
        until(lambda plan_id=plan_id: state(sql, plan_id) == "ready", "the plan")

        assert made_once(grown, sql, house, plan_id)
    record_property("killed", KILLS)
    record_property("in the middle of a plan", begun_again)
    assert begun_again
