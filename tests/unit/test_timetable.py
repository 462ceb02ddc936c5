"""When the things that happen by themselves are due."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from renovation.timetable import Timetable

EIGHT = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)


def begun(every_seconds, *, at=EIGHT):
    table = Timetable(every_seconds)
    for name in every_seconds:
        table.begun(name, at)
    return table


def test_at_first_everything_is_due_in_the_order_given():
    assert list(Timetable({"sweep": 30, "plan": 300, "prune": 5}).due(EIGHT)) == [
        "sweep", "plan", "prune",
    ]  # fmt: skip


def test_each_is_due_again_after_its_own_time():
    table = begun({"sweep": 30, "plan": 300})

    assert list(table.due(EIGHT + timedelta(seconds=29))) == []
    assert list(table.due(EIGHT + timedelta(seconds=30))) == ["sweep"]
    assert list(table.due(EIGHT + timedelta(seconds=300))) == ["sweep", "plan"]


def test_what_a_sleeping_laptop_missed_is_done_once():
    table = begun({"plan": 300})
    woken = EIGHT + timedelta(hours=10)

    assert list(table.due(woken)) == ["plan"]
    table.begun("plan", woken)

    assert list(table.due(woken + timedelta(seconds=299))) == []


def test_a_clock_that_was_put_back_holds_nothing_up():
    table = begun({"prune": 24 * 3600})

    assert list(table.due(EIGHT - timedelta(hours=1))) == ["prune"]


def test_it_says_how_long_there_is_nothing_to_do():
    table = begun({"sweep": 30, "plan": 300})

    assert table.seconds_left(EIGHT + timedelta(seconds=10)) == 20
    assert table.seconds_left(EIGHT + timedelta(seconds=40)) == -10
    assert Timetable({"sweep": 30}).seconds_left(EIGHT) == 0
    assert Timetable({}).seconds_left(EIGHT) == 0
