"""What a calendar is told when the plan changes: moves, not doubles."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.feeds.memory import SHOWN_AFTER, Event, Told, changes, is_shown

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
SOON = NOW + timedelta(hours=1)
LATER = NOW + timedelta(days=2)


def evening(day, *, about=7, title="Lift the hall boards", **fields):
    """A stretch from 18:30 to 21:00, so many days from NOW."""
    starts = NOW + timedelta(days=day, hours=6, minutes=30)
    ends = starts + timedelta(hours=2.5)
    return Event("task", about, starts, ends, title, **fields)


def told_after(before, wanted, *, now=NOW):
    """All that a calendar knows after one more reading, by number."""
    known = {(row.event.kind, row.event.about, row.number): row for row in before}
    for row in changes(before, wanted, now=now):
        known[row.event.kind, row.event.about, row.number] = row
    return [known[key] for key in sorted(known)]


def test_reading_again_tells_nothing_new():
    first = told_after([], [evening(1), evening(2), evening(1, about=8)])

    assert [(row.event.about, row.number) for row in first] == [(7, 1), (7, 2), (8, 1)]
    assert changes(first, [row.event for row in first], now=LATER) == []


def test_a_stretch_that_moves_is_the_same_event_of_a_later_sequence():
    before = told_after([], [evening(1)])

    (moved,) = changes(before, [evening(3)], now=SOON)

    assert moved == Told(evening(3), 1, 1, SOON)


def test_when_one_of_three_moves_the_others_stay_untouched():
    before = told_after([], [evening(1), evening(2), evening(3)])

    found = changes(before, [evening(2), evening(3), evening(4)], now=NOW)

    assert [(row.number, row.event) for row in found] == [(1, evening(4))]


def test_what_drops_out_of_the_plan_is_cancelled_and_told_for_four_weeks():
    before = told_after([], [evening(1), evening(3)])

    (gone,) = changes(before, [evening(1)], now=NOW)

    assert (gone.number, gone.sequence, gone.cancelled_at) == (2, 1, NOW)
    assert is_shown(gone, now=NOW + SHOWN_AFTER - timedelta(hours=1))
    assert not is_shown(gone, now=NOW + SHOWN_AFTER)


def test_what_was_cancelled_may_come_back_and_is_the_same_event():
    before = told_after(told_after([], [evening(1)]), [])

    (back,) = changes(before, [evening(5)], now=NOW)

    assert (back.number, back.sequence, back.cancelled_at) == (1, 2, None)


def test_what_has_passed_stays_as_the_diary():
    before = told_after([], [evening(1), evening(4)])

    found = changes(before, [evening(5)], now=LATER)

    assert [(row.number, row.event) for row in found] == [(2, evening(5))]


def test_another_title_is_a_revision_but_no_move():
    before = told_after([], [evening(1)])

    (named,) = changes(before, [evening(1, title="Lift the landing boards")], now=NOW)

    assert (named.sequence, named.changed_at) == (0, NOW)
    assert named.event.title == "Lift the landing boards"


def test_what_becomes_certain_counts_as_a_change_of_its_state():
    before = told_after([], [evening(1, tentative=True)])

    (sure,) = changes(before, [evening(1)], now=NOW)

    assert sure.sequence == 1


plans = st.lists(
    st.builds(evening, st.integers(-3, 6), about=st.integers(1, 2), tentative=st.booleans()),
    max_size=6,
    unique_by=lambda event: (event.about, event.starts),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(plans, min_size=1, max_size=5))
def test_over_any_run_of_plans_each_event_keeps_its_name_and_counts_up(run):
    known = []
    for n, plan in enumerate(run):
        now = NOW + timedelta(hours=8 * n)
        before = {(row.event.about, row.number): row for row in known}
        known = told_after(known, plan, now=now)
        after = {(row.event.about, row.number): row for row in known}
        live = [row.event for row in known if row.cancelled_at is None]

        assert changes(known, plan, now=now) == []
        assert before.keys() <= after.keys()
        assert all(event in live for event in plan)
        assert all(event in plan or event.ends <= now for event in live)
        for key, row in before.items():
            same = replace(after[key], event=row.event) == row
            assert after[key].sequence >= row.sequence + (
                not same
                and (row.event.starts, row.cancelled_at is None)
                != (after[key].event.starts, after[key].cancelled_at is None)
            )
