"""Wet timber in the plan: a task waits for its piece to dry, and says so."""

from __future__ import annotations

from datetime import date, timedelta

from apps.planning import selectors
from apps.timber.selectors import drying
from tests import factories
from tests.api.houses import MONDAY, crew, package, plan, times

TODAY = MONDAY.date()


def noggin_for(task, *, pct=None, state="applied", limit_pct=20.0, stored="dry"):
    """A cut of an applied plan for a task's need, from a piece that read `pct` a month ago."""
    house = task.package.property
    applied_at = MONDAY if state == "applied" else None
    bar = factories.CuttingBarFactory(
        plan__property=house, plan__state=state, plan__applied_at=applied_at, piece__stored=stored
    )
    need = factories.NeedFactory(property=house, task=task, moisture_limit_pct=limit_pct)
    factories.CutFactory(bar=bar, need=need)
    if pct is not None:
        factories.MoistureReadingFactory(
            piece=bar.piece, measured_pct=pct, read_at=MONDAY - timedelta(days=1)
        )
    return bar.piece


def reason(made, task):
    return next(s.why_not_sooner for s in made.stints.all() if s.task_id == task.pk)


def wet_alerts(made):
    return [alert for alert in made.alerts if alert["code"] == "timber_wet"]


def test_a_task_waits_until_its_piece_is_dry_and_says_which(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    piece = noggin_for(task, pct=21.0)
    dry_on = drying(piece, limit_pct=20, today=TODAY)["dry_on"]

    made = plan(house, horizon_days=60)

    begins = made.stints.get(task=task).starts.date()
    assert TODAY < dry_on <= begins <= dry_on + timedelta(days=3)
    assert reason(made, task)["code"] == "timber_wet"
    assert {"kind": "piece", "id": piece.pk, "name": piece.mark} in reason(made, task)["by"]
    assert [(a["severity"], a["figures"]) for a in wet_alerts(made)] == [
        ("watch", {"dry_on": dry_on.isoformat()})
    ]


def test_a_due_date_before_the_piece_is_dry_is_to_be_acted_on(house):
    crew(house)
    task = factories.TaskFactory(package=package(house), due=MONDAY + timedelta(days=2))
    noggin_for(task, pct=26.0)

    [alert] = wet_alerts(plan(house, horizon_days=120))

    assert alert["severity"] == "act"
    assert "is due by Wed 7 Jan" in alert["sentence"]


def test_a_piece_that_never_dries_where_it_is_leaves_its_task_without_a_place(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    noggin_for(task, pct=24.0, stored="outside", limit_pct=15.0)

    made = plan(house)

    assert times(made, task) == []
    [unplaced] = made.unplaced
    assert unplaced["code"] == "timber_wet"
    [alert] = wet_alerts(made)
    assert alert["severity"] == "act"
    assert "warmer and drier" in alert["sentence"]


def test_dry_and_unread_pieces_hold_nothing_up(house):
    crew(house)
    dry, unread = (factories.TaskFactory(package=package(house)) for _ in range(2))
    noggin_for(dry, pct=14.0)
    noggin_for(unread)

    made = plan(house)

    assert times(made, dry)
    assert times(made, unread)
    assert wet_alerts(made) == []


def test_a_plan_nobody_applied_holds_nothing_up(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    noggin_for(task, pct=26.0, state="ready")

    assert times(plan(house), task) == [(5, 18, 120)]


def test_a_plan_notes_on_each_need_when_its_task_begins(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    need = factories.NeedFactory(property=house, task=task)

    plan(house)

    need.refresh_from_db()
    assert need.planned_on == date(2026, 1, 5)
    assert need.wanted_on() == date(2026, 1, 5)


def test_a_supposition_notes_nothing(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    need = factories.NeedFactory(property=house, task=task)

    plan(house, what_if={"drop_tasks": [10**6]})

    need.refresh_from_db()
    assert need.planned_on is None


def test_the_wait_is_among_the_alerts_of_the_house(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    noggin_for(task, pct=21.0)
    plan(house, horizon_days=60)

    assert "timber_wet" in {alert["code"] for alert in selectors.alerts(house, now=MONDAY)}
