"""Plans that go through a real broker to real workers, and workers that die."""

from __future__ import annotations

import signal

import psycopg
import pytest

from tests.compose import as_module, steps
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
            "SELECT 1 FROM property_property WHERE id = %s FOR NO KEY UPDATE", [house["property"]]
        )
        return holder.rollback

    yield held
    holder.close()


def state(sql, plan_id):
    return sql.execute("SELECT state FROM planning_plan WHERE id = %s", [plan_id]).fetchone()[0]


def attempts(sql, plan_id):
    return sql.execute("SELECT attempts FROM planning_plan WHERE id = %s", [plan_id]).fetchone()[0]


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
        "UPDATE planning_plan SET progressed_at = progressed_at - interval '10 minutes'"
        " WHERE id = %s",
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

    assert attempts(sql, plan_id) == 1


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
    assert attempts(sql, plan_id) == 1


def test_one_plan_of_a_house_is_made_at_a_time_and_a_newer_request_takes_a_queued_ones_place(
    grown, sql, ask_for_plan, hold_back, worker
):
    house = grown.seed()
    first = ask_for_plan(house)
    let_go = hold_back(house)
    worker(processes=2)
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the plan to be worked out")

    second, third = ask_for_plan(house), ask_for_plan(house)
    assert [state(sql, plan_id) for plan_id in (first, second, third)] == [
        "solving", "superseded", "queued",
    ]  # fmt: skip
    let_go()
    until(lambda: state(sql, third) == "ready", "the newest plan")

    assert state(sql, first) == "ready"
    assert grown.get(f"plans/{second}/").json()["superseded_by"] == third
    current = sql.execute(
        "SELECT id FROM planning_plan WHERE property_id = %s AND is_current", [house["property"]]
    ).fetchall()
    assert current == [(third,)]


def test_a_house_that_asks_often_does_not_keep_another_waiting(grown, sql, ask_for_plan, worker):
    """Suppositions do not take each other's place: the busy house has as many rows queued."""
    busy, other = grown.seed(), grown.seed()
    many = [
        grown.post(
            "plans/",
            {"property": busy["property"], "seconds": 0.1, "quick": True,
             "what_if": {"add_tasks": [{"title": f"Task {n}", "likely_minutes": 30,
                                        "package": package_of(sql, busy)}]}},
        ).json()["id"]
        for n in range(20)
    ]  # fmt: skip
    last = ask_for_plan(other)

    worker()
    until(lambda: state(sql, last) == "ready", "the other house's plan")

    [before] = sql.execute(
        "SELECT count(*) FROM planning_plan WHERE property_id = %s AND claimed_at <"
        " (SELECT claimed_at FROM planning_plan WHERE id = %s)",
        [busy["property"], last],
    ).fetchone()
    assert before <= 1
    for plan_id in many:
        until(lambda plan_id=plan_id: state(sql, plan_id) == "ready", "all the others in the end")


def package_of(sql, house):
    return sql.execute(
        "SELECT package_id FROM work_task WHERE id = %s", [house["tasks"][0]]
    ).fetchone()[0]


def test_a_plan_that_is_stopped_frees_its_worker(grown, sql, ask_for_plan, hold_back, worker):
    house, other = grown.seed(), grown.seed()
    plan_id = ask_for_plan(house)
    let_go = hold_back(house)
    worker()
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the plan to be worked out")

    stopped = grown.post(f"plans/{plan_id}/cancel/", {})
    let_go()
    after = grown.post("plans/", {"property": other["property"], "seconds": 1}).json()["id"]
    until(lambda: state(sql, after) == "ready", "the next plan")

    assert (stopped.status, stopped.json()["status"]) == (200, "cancelled")
    assert state(sql, plan_id) == "cancelled"
    stints = sql.execute("SELECT count(*) FROM planning_stint WHERE plan_id = %s", [plan_id])
    assert stints.fetchone()[0] == 0


def test_beat_runs_as_compose_starts_it(grown, tmp_path):
    """Its pidfile and schedule lie in the container's own /tmp; here in a folder of the test's."""
    words = [word.replace("/tmp/beat", str(tmp_path / "beat")) for word in steps("beat")[0]]
    beat = grown.installation.process("beat", *as_module(words))
    until(lambda: (tmp_path / "beat.pid").exists() or beat.poll() is not None, "its pidfile")
    until(lambda: "beat: Starting" in grown.installation.log("beat"), "it to say so")

    alive = beat.poll() is None
    end(beat)

    assert alive, grown.installation.log("beat")
