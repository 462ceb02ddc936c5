"""Rules that PostgreSQL itself keeps, whoever writes past the program."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest
from psycopg import errors

LOGS = ("floors_boardmove", "work_timeentry", "inspections_signoff")
ONE_ROW_OF_EACH = """
from apps.pages.owner import owner_account
from tests import factories
from tests.api import samples
house = factories.PropertyFactory()
house.owner = owner_account()
made = [samples.board_move(house), samples.time_entry(house), samples.sign_off(house)]
answer = {row._meta.db_table: row.pk for row in made}
"""
RING = [[0, 0], [1000, 0], [1000, 1000], [0, 1000], [0, 0]]


@pytest.fixture(scope="module")
def logged(grown):
    """The id of one row of each log."""
    return grown.installation.run(ONE_ROW_OF_EACH)


def test_every_log_of_the_program_is_tried_here(grown, sql):
    guarded = sql.execute(
        "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal"
    ).fetchall()

    assert {table for (table,) in guarded} == set(LOGS)


@pytest.mark.parametrize("table", LOGS)
@pytest.mark.parametrize("statement", ["UPDATE {} SET version = version + 1", "DELETE FROM {}"])
def test_a_log_cannot_be_altered_by_hand(logged, sql, table, statement):
    row = logged[table]

    with pytest.raises(errors.IntegrityConstraintViolation, match=f"{table} is append-only"):
        sql.execute(f"{statement.format(table)} WHERE id = %s", [row])

    kept = sql.execute(f"SELECT version FROM {table} WHERE id = %s", [row]).fetchall()
    assert kept == [(1,)]


@pytest.mark.parametrize(
    "outline",
    [
        pytest.param([], id="nothing"),
        pytest.param(RING[:2], id="a line"),
        pytest.param(RING[:4], id="not closed"),
        pytest.param([[0, 0], [1, 1], [0, 0]], id="there and back"),
    ],
)
@pytest.mark.parametrize(("table", "which"), [("property_room", "room"), ("floors_floor", "floor")])
def test_an_outline_that_is_no_ring_is_refused(grown, sql, table, which, outline):
    house = grown.seed()

    with pytest.raises(errors.CheckViolation, match="outline_is_closed"):
        sql.execute(
            f"UPDATE {table} SET outline = %s::jsonb WHERE id = %s",
            [json.dumps(outline), house[which]],
        )


def test_an_outline_that_is_a_ring_is_kept(grown, sql):
    house = grown.seed()

    sql.execute(
        "UPDATE property_room SET outline = %s::jsonb WHERE id = %s",
        [json.dumps(RING), house["room"]],
    )

    kept = sql.execute("SELECT outline FROM property_room WHERE id = %s", [house["room"]])
    assert kept.fetchone() == (RING,)


def test_a_board_is_open_in_one_place_only(grown, sql):
    house = grown.seed()
    move = grown.post("board-moves/", {"boards": house["boards"][:1], "to_state": "up"}).json()

    with pytest.raises(errors.UniqueViolation, match="board_stay_one_open"):
        sql.execute(
            "INSERT INTO floors_boardstay (version, move_id, board_id, since)"
            " VALUES (1, %s, %s, %s)",
            [move["id"], house["boards"][0], datetime.now(UTC)],
        )


def test_a_house_has_one_current_plan_and_it_is_ready(grown, sql):
    house = grown.seed()
    plan = (
        "INSERT INTO planning_plan (version, property_id, state, as_of, horizon_days, seconds,"
        " is_current, quick, objective, proven, unplaced, unready, contradictions, alerts,"
        " changes, inputs, supposed_stints, failure, because, attempts, progress_pct)"
        " VALUES (1, %s, %s, now(), 7, 1, %s, false, '[]', true, '[]', '[]', '[]', '[]', '[]',"
        " '{}', '[]', '', 'asked', 0, 0)"
    )
    sql.execute(plan, [house["property"], "ready", True])

    with pytest.raises(errors.UniqueViolation, match="plan_one_current"):
        sql.execute(plan, [house["property"], "ready", True])
    with pytest.raises(errors.CheckViolation, match="plan_current_is_ready"):
        sql.execute(plan, [grown.seed()["property"], "failed", True])


def test_a_house_has_one_plan_at_work(grown, sql):
    house = grown.seed()["property"]
    plan = (
        "INSERT INTO planning_plan (version, property_id, state, as_of, horizon_days, seconds,"
        " is_current, quick, objective, proven, unplaced, unready, contradictions, alerts,"
        " changes, inputs, supposed_stints, failure, because, attempts, progress_pct)"
        " VALUES (1, %s, 'solving', now(), 7, 1, false, false, '[]', true, '[]', '[]', '[]', '[]',"
        " '[]', '{}', '[]', '', 'asked', 1, 0)"
    )
    sql.execute(plan, [house])

    with pytest.raises(errors.UniqueViolation, match="plan_one_at_work"):
        sql.execute(plan, [house])
