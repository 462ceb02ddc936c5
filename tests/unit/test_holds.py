"""Board holds: for whom, until what; fixes that come too early; needs nobody opens."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.holds import (
    BoardTimes,
    Fix,
    OpenNeed,
    board_holds,
    fix_conflicts,
    nobody_opens,
)

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 6, 1, 8, tzinfo=UTC)  # Monday, 09:00 in London
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)

PLUMBER = OpenNeed(
    id=1,
    for_kind="trade",
    for_id=7,
    for_name="the plumber",
    purpose="waste run",
    board_ids=(11, 12),
    open_as="up",
    until="visit_done",
    until_name="the plumber",
)
PLANNED = replace(PLUMBER, starts=NOW + 3 * DAY, ends=NOW + 3 * DAY + 4 * HOUR)
INSPECTOR = OpenNeed(
    id=2,
    for_kind="inspection",
    for_id=3,
    for_name="the inspector",
    purpose="joist ends",
    board_ids=(12, 13),
    open_as="unfixed",
    until="signed_off",
    until_name="Joist ends",
    starts=NOW + 5 * DAY,
    ends=NOW + 5 * DAY + HOUR,
)
BOARDS = {
    11: BoardTimes(11, "B1.1", "up", since=NOW - DAY),
    12: BoardTimes(12, "B2.1", "up", since=NOW - DAY),
    13: BoardTimes(13, "B3.1", "fixed", lifted_at=NOW + DAY),
}


def holds(*needs, boards=BOARDS, as_of=NOW):
    return board_holds(needs, boards, as_of=as_of, zone=LONDON)


def conflicts(held, *fixes):
    return fix_conflicts(held, fixes, zone=LONDON)


def unopened(*needs, boards=BOARDS, as_of=NOW):
    return nobody_opens(needs, boards, as_of=as_of, zone=LONDON)


def test_a_need_holds_its_boards_even_without_a_plan():
    first, second = holds(PLUMBER)

    assert (first.board_id, second.board_id) == (11, 12)
    assert (first.for_kind, first.for_id, first.need_id) == ("trade", 7, 1)
    assert (first.open_from, first.open_until, first.earliest_fix) == (NOW - DAY, None, None)
    assert not first.released
    assert first.release == "Released when the plumber has been."
    assert first.sentence == (
        "B1.1 stays up for the plumber (waste run); released when the plumber has been."
    )


def test_with_a_plan_a_hold_has_a_planned_end():
    hold = holds(PLANNED)[0]

    assert hold.open_until == hold.earliest_fix == NOW + 3 * DAY + 4 * HOUR
    assert hold.sentence == (
        "B1.1 stays up for the plumber (waste run); released when the plumber has been, "
        "planned by Thu 4 Jun, 13:00."
    )


@pytest.mark.parametrize(
    ("until", "name", "release"),
    [
        ("visit_done", "the plumber", "Released when the plumber has been."),
        ("task_done", "Fit the waste", "Released when Fit the waste is done."),
        ("signed_off", "Joist ends", "Released when Joist ends is signed off."),
    ],
)
def test_each_release_is_named(until, name, release):
    assert holds(replace(PLUMBER, until=until, until_name=name))[0].release == release


def test_the_planned_end_going_by_releases_nothing():
    hold = holds(PLANNED, as_of=NOW + 9 * DAY)[0]

    assert (hold.released, hold.open_until, hold.earliest_fix) == (False, None, None)
    assert hold.sentence.endswith("which was planned by Thu 4 Jun, 13:00 and is not noted yet.")


def test_the_named_thing_releases_a_hold():
    released = replace(PLANNED, released_at=NOW - HOUR)

    hold = holds(released)[0]

    assert (hold.released, hold.open_until, hold.earliest_fix) == (True, NOW - HOUR, NOW)
    assert hold.sentence == "B1.1 is no longer held for the plumber (waste run)."


def test_a_release_in_the_future_is_no_release_yet():
    assert not holds(replace(PLANNED, released_at=NOW + HOUR))[0].released


def test_a_hold_until_a_date_ends_with_it():
    until = replace(PLUMBER, until="date", until_name="", until_at=NOW + 2 * DAY)

    hold = holds(until)[0]

    assert (hold.released, hold.open_until, hold.earliest_fix) == (
        False,
        NOW + 2 * DAY,
        NOW + 2 * DAY,
    )
    assert hold.release == "Released from Wed 3 Jun, 09:00."
    assert hold.sentence.endswith("released from Wed 3 Jun, 09:00.")
    assert holds(until, as_of=NOW + 2 * DAY)[0].released
    assert holds(until, as_of=NOW + 2 * DAY)[0].open_until == NOW + 2 * DAY


def test_a_board_two_people_need_may_be_fixed_after_both():
    found = {(hold.need_id, hold.board_id): hold for hold in holds(PLANNED, INSPECTOR)}

    assert found[1, 11].earliest_fix == PLANNED.ends
    assert found[1, 12].earliest_fix == found[2, 12].earliest_fix == INSPECTOR.ends


def test_one_hold_without_an_end_leaves_the_fix_open():
    found = {(hold.need_id, hold.board_id): hold for hold in holds(PLUMBER, INSPECTOR)}

    assert found[2, 12].earliest_fix is None
    assert found[2, 12].open_until == INSPECTOR.ends
    assert found[2, 13].earliest_fix == INSPECTOR.ends


def test_one_released_hold_of_two_does_not_free_the_board():
    found = holds(replace(PLANNED, released_at=NOW), INSPECTOR)

    assert {hold.earliest_fix for hold in found if hold.board_id == 12} == {INSPECTOR.ends}


def test_a_board_still_down_is_held_from_its_planned_lifting():
    assert [hold.open_from for hold in holds(INSPECTOR)] == [NOW - DAY, NOW + DAY]


def test_a_loose_board_is_open_for_unfixed_but_not_for_up():
    boards = {key: replace(board, state="loose") for key, board in BOARDS.items()}

    assert unopened(INSPECTOR, boards=boards) == ()
    assert unopened(PLANNED, boards=boards)[0].board_ids == (11, 12)


def test_fixing_a_held_board_now_conflicts_whatever_the_plan_says():
    held = holds(PLANNED, as_of=NOW + 9 * DAY)

    (conflict,) = conflicts(held, Fix((11,), NOW + 9 * DAY, "This"))

    assert [hold.mark for hold in conflict.holds] == ["B1.1"]
    assert conflict.sentence == (
        "This would fix B1.1 on Wed 10 Jun, 09:00, too early: the plumber needs it up for waste "
        "run; "
        "released when the plumber has been."
    )


def test_a_planned_fix_before_the_release_conflicts_once_for_each_need():
    relay = Fix((11, 12, 13), NOW + 2 * DAY, "Re-lay the hall", task_id=5)

    found = conflicts(holds(PLANNED, INSPECTOR), relay)

    assert [[hold.mark for hold in one.holds] for one in found] == [
        ["B1.1", "B2.1"],
        ["B2.1", "B3.1"],
    ]
    assert found[0].sentence == (
        "Re-lay the hall would fix B1.1 and B2.1 on Wed 3 Jun, 09:00, too early: the plumber "
        "needs them up for waste run; released when the plumber has been (planned Thu 4 Jun, "
        "13:00)."
    )


def test_a_planned_fix_at_the_planned_release_is_in_time():
    held = holds(PLANNED)

    assert conflicts(held, Fix((11,), PLANNED.ends, "Re-lay", task_id=5)) == ()
    assert conflicts(held, Fix((11,), PLANNED.ends - HOUR, "Re-lay", task_id=5)) != ()


def test_a_planned_fix_conflicts_with_a_hold_of_unknown_end():
    assert conflicts(holds(PLUMBER), Fix((11,), NOW + 90 * DAY, "Re-lay", task_id=5)) != ()


def test_a_planned_fix_before_the_board_is_lifted_for_the_need_is_no_conflict():
    before = Fix((13,), NOW + HOUR, "Re-lay", task_id=5)

    assert conflicts(holds(INSPECTOR), before) == ()


def test_released_holds_and_other_boards_never_conflict():
    released = holds(replace(PLANNED, released_at=NOW))

    assert conflicts(released, Fix((11,), NOW, "This")) == ()
    assert conflicts(holds(PLANNED), Fix((99,), NOW, "This")) == ()


def test_boards_that_nobody_opens_are_named():
    boards = {**BOARDS, 11: BoardTimes(11, "B1.1", "fixed")}

    (found,) = unopened(PLANNED, boards=boards)

    assert (found.need.id, found.board_ids, found.late_ids) == (1, (11,), ())
    assert found.sentence == ("Nobody opens B1.1 for the plumber (waste run) by Thu 4 Jun, 09:00.")


def test_boards_lifted_after_the_need_begins_are_late():
    boards = {**BOARDS, 11: BoardTimes(11, "B1.1", "fixed", lifted_at=PLANNED.starts + HOUR)}

    (found,) = unopened(PLANNED, boards=boards)

    assert (found.board_ids, found.late_ids) == ((11,), (11,))
    assert found.sentence.endswith("The plan opens B1.1, but too late.")


def test_boards_lifted_by_the_time_of_the_need_are_fine():
    boards = {**BOARDS, 11: BoardTimes(11, "B1.1", "fixed", lifted_at=PLANNED.starts)}

    assert unopened(PLANNED, boards=boards) == ()


def test_without_a_time_of_the_need_any_planned_lifting_will_do():
    boards = {**BOARDS, 11: BoardTimes(11, "B1.1", "fixed", lifted_at=NOW + 60 * DAY)}

    assert unopened(PLUMBER, boards=boards) == ()
    never = {**BOARDS, 11: BoardTimes(11, "B1.1", "fixed")}
    assert unopened(PLUMBER, boards=never)[0].sentence == (
        "Nobody opens B1.1 for the plumber (waste run)."
    )


def test_open_boards_are_open_though_nobody_knows_since_when():
    boards = {11: BoardTimes(11, "B1.1", "missing"), 12: BoardTimes(12, "B2.1", "up")}

    assert unopened(PLANNED, boards=boards) == ()


def test_a_released_need_asks_nobody_to_open():
    boards = {key: BoardTimes(key, f"B{key}.1", "fixed") for key in (11, 12)}

    assert unopened(replace(PLANNED, released_at=NOW), boards=boards) == ()


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 96), st.booleans()), min_size=1, max_size=5),
    st.integers(0, 100),
)
def test_a_planned_fix_is_in_time_exactly_from_the_earliest_fix_on(ends, fix_hours):
    needs = [
        replace(
            PLUMBER,
            id=number,
            board_ids=(11,),
            starts=NOW,
            ends=NOW + hours * HOUR,
            released_at=NOW if released else None,
        )
        for number, (hours, released) in enumerate(ends)
    ]
    held = holds(*needs)
    fix = Fix((11,), NOW + fix_hours * HOUR, "Re-lay", task_id=5)

    assert (conflicts(held, fix) == ()) is (fix.at >= held[0].earliest_fix)
