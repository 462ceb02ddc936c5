"""Plans that go through a real broker to real workers, and workers that die."""

from __future__ import annotations

import signal

import psycopg
import pytest

from tests.installation import end, until

WAITING_FOR_A_LOCK = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND wait_event_type = 'Lock'
"""


@pytest.fixture
def ask_for_plan(grown):
    """Ask over the API; the id of the queued plan."""

    def asked(house):
        answer = grown.post("plans/", {"property": house["property"], "seconds": 1})
        assert answer.status == 202, answer.text
        assert answer.json()["status"] == "queued"
        return answer.json()["id"]

    return asked


@pytest.fixture
def hold_back(database):
    """Lock a house's row, so that a plan of it can be worked out but not stored."""
    holder = psycopg.connect(database)

    def held(house):
        holder.execute(
            "SELECT 1 FROM property_property WHERE id = %s FOR UPDATE", [house["property"]]
        )
        return holder.rollback

    yield held
    holder.close()


def state(sql, plan_id):
    return sql.execute("SELECT state FROM planning_plan WHERE id = %s", [plan_id]).fetchone()[0]


def test_a_plan_waits_for_a_worker_and_is_made_when_one_comes(grown, ask_for_plan, worker):
    house = grown.seed()
    plan_id = ask_for_plan(house)

    worker()
    until(lambda: grown.get(f"plans/{plan_id}/").json()["status"] == "ready", "the plan")

    plan = grown.get(f"plans/{plan_id}/").json()
    assert plan["is_current"]
    assert {stint["task"] for stint in plan["stints"]} == set(house["tasks"])
    week = grown.get(f"week/?property={house['property']}").json()
    assert week["plan"]["id"] == plan_id


def test_a_cutting_plan_waits_for_a_worker_too(grown, worker):
    house = grown.seed()["property"]
    piece = {"mark": "T1", "origin": "Wash-house", "breadth_mm": 50, "depth_mm": 100}
    grown.post("timber-pieces/", {"property": house, **piece, "length_mm": 3000})
    need = {"role": "noggin", "title": "Noggins", "quantity": 2, "length_mm": 349}
    grown.post("timber-needs/", {"property": house, **need, "breadth_mm": 50, "depth_mm": 100})
    asked = grown.post("cutting-plans/", {"property": house, "seconds": 1})
    assert asked.status == 202, asked.text
    at = f"cutting-plans/{asked.json()['id']}/"

    worker()
    until(lambda: grown.get(at).json()["state"] == "ready", "the cutting plan")

    [bar] = grown.get(at).json()["bars"]
    assert [cut["length_mm"] for cut in bar["cuts"]] == [349, 349]


def test_what_a_dead_worker_left_is_handed_out_again(grown, sql, ask_for_plan, hold_back, worker):
    house = grown.seed()
    plan_id = ask_for_plan(house)
    let_go = hold_back(house)
    killed = worker()
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the plan to be worked out")
    end(killed, signal.SIGKILL)
    let_go()
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 0, "the lock to be free")
    assert state(sql, plan_id) == "solving"

    # Ten minutes go by.
    sql.execute(
        "UPDATE planning_plan SET claimed_at = claimed_at - interval '10 minutes',"
        " requested_at = requested_at - interval '10 minutes' WHERE id = %s",
        [plan_id],
    )
    worker()
    grown.installation.run(
        "from apps.planning.tasks import requeue_left_plans; requeue_left_plans.delay()"
    )
    until(lambda: state(sql, plan_id) == "ready", "the plan")

    plan = grown.get(f"plans/{plan_id}/").json()
    assert plan["is_current"]
    assert {stint["task"] for stint in plan["stints"]} == set(house["tasks"])


def test_a_plan_that_is_being_made_is_not_handed_out_again(
    grown, sql, ask_for_plan, hold_back, worker
):
    house = grown.seed()
    plan_id = ask_for_plan(house)
    let_go = hold_back(house)
    worker(processes=2)
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the plan to be worked out")

    grown.installation.run(
        "from apps.planning.services import requeue_left_plans as again; again()"
    )
    let_go()
    until(lambda: state(sql, plan_id) == "ready", "the plan")

    [versions] = sql.execute(
        "SELECT array_agg(version) FROM planning_plan WHERE id = %s", [plan_id]
    ).fetchone()
    assert versions == [2]


def test_a_plan_handed_out_twice_is_made_once(grown, sql, ask_for_plan, hold_back, worker):
    house = grown.seed()
    plan_id = ask_for_plan(house)
    let_go = hold_back(house)
    worker(processes=2)
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the plan to be worked out")

    # The second claim runs to its end while the first still holds the plan.
    grown.installation.run(f"from apps.planning.services import solve; solve(plan_id={plan_id})")
    assert state(sql, plan_id) == "solving"
    let_go()
    until(lambda: state(sql, plan_id) == "ready", "the plan")

    starts = sql.execute(
        "SELECT task_id, starts FROM planning_stint WHERE plan_id = %s", [plan_id]
    ).fetchall()
    assert starts
    assert len(starts) == len(set(starts))
    [version] = sql.execute("SELECT version FROM planning_plan WHERE id = %s", [plan_id]).fetchone()
    assert version == 2


def test_of_two_plans_that_end_at_once_the_later_asked_is_current(
    grown, sql, ask_for_plan, hold_back, worker
):
    house = grown.seed()
    plan_ids = [ask_for_plan(house), ask_for_plan(house)]
    let_go = hold_back(house)
    worker(processes=2)
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 2, "both to be worked out")

    let_go()
    for plan_id in plan_ids:
        until(lambda plan_id=plan_id: state(sql, plan_id) == "ready", "both plans")

    current = sql.execute(
        "SELECT id FROM planning_plan WHERE property_id = %s AND is_current", [house["property"]]
    ).fetchall()
    assert current == [(max(plan_ids),)]
