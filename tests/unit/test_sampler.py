"""Runs of a plan with other durations: what follows from one task taking longer, or less."""

from dataclasses import replace

import numpy as np
import pytest

from apps.planning.generator import generate
from apps.planning.problem import Resource, Solution, Stint
from apps.planning.run_hours import NEVER
from apps.planning.sampler import run
from tests.unit.plans import (
    DAY,
    EVENING,
    calendar,
    evenings,
    link,
    problem,
    span,
    task,
    visit,
)

HOURS = calendar("crew", *evenings(6))
MON, TUE, WED = (74 + DAY * day for day in range(3))


def plan(house):
    """The plan in the order in which the tasks are written down."""
    return generate(house, [a.key for a in house.activities if a.fixed is None])


def at(house, minutes, *, of=None, solution=None):
    """Start and end in quarter-hours when the named tasks take so many minutes."""
    work = {a.key: np.array([wanted]) for a, wanted in minutes.items()}
    runs = run(house, solution or plan(house), work, 1)
    return runs.starts[of.key][0] / 15, runs.ends[of.key][0] / 15


def evening_task(name, effort, **changes):
    return task(name, effort, **{"calendars": ("crew",), **changes})


def test_what_takes_less_lets_the_next_begin_sooner():
    lift, treat = evening_task("lift", 10), evening_task("treat", 10)
    house = problem(lift, treat, links=[link(lift, treat)], calendars=[HOURS])

    assert at(house, {}, of=treat) == (TUE, TUE + 10)
    assert at(house, {lift: 90}, of=treat) == (MON + 6, TUE + 6)


def test_what_takes_longer_carries_on_the_next_evening_and_pushes_the_rest():
    lift, treat = evening_task("lift", 10), evening_task("treat", 10)
    house = problem(lift, treat, links=[link(lift, treat)], calendars=[HOURS])

    assert at(house, {lift: 180}, of=lift) == (MON, TUE + 2)
    assert at(house, {lift: 180}, of=treat) == (TUE + 2, WED + 2)


def test_the_crew_gets_on_with_the_next_thing_while_one_waits():
    lift, pour, paint = (evening_task(name, 10) for name in ("lift", "pour", "paint"))
    pour = replace(pour, splittable=False)
    house = problem(lift, pour, paint, links=[link(lift, pour)], calendars=[HOURS])

    assert at(house, {}, of=paint) == (WED, WED + 10)
    # Half an hour of Tuesday goes to the lifting: the pour needs a whole evening and waits for
    # Wednesday, the painting has what is left of Tuesday and its rest on Thursday.
    assert at(house, {lift: 180}, of=pour) == (WED, WED + 10)
    assert at(house, {lift: 180}, of=paint) == (TUE + 2, WED + DAY + 2)


def test_what_the_plan_leaves_waiting_for_no_reason_waits_in_a_run_too():
    lift, paint = evening_task("lift", 4), evening_task("paint", 4)
    house = problem(lift, paint, calendars=[HOURS])
    easy = Solution((Stint(lift.key, MON, MON + 4), Stint(paint.key, WED, WED + 4)))

    assert at(house, {lift: 30, paint: 45}, of=paint, solution=easy) == (WED, WED + 3)


def test_work_in_one_go_is_seen_through_past_the_hours():
    pour = evening_task("pour", 10, splittable=False)
    house = problem(pour, calendars=[HOURS])

    assert at(house, {pour: 200}, of=pour) == (MON, MON + 200 / 15)


def test_an_agreed_visit_happens_ready_or_not():
    lift = evening_task("lift", 10)
    plumber = visit("plumber", TUE - 30, TUE - 20)
    house = problem(lift, plumber, links=[link(lift, plumber, code="boards_held")],
                    calendars=[HOURS])  # fmt: skip

    runs = run(house, plan(house), {lift.key: np.array([100, 150, 165])}, 3)

    assert runs.starts[plumber.key].tolist() == [(TUE - 30) * 15] * 3
    assert (runs.ready[plumber.key] <= (TUE - 30) * 15).tolist() == [True, True, False]


def test_who_comes_by_appointment_never_comes_sooner():
    lift = evening_task("lift", 8)
    days = calendar("days", (DAY + 32, DAY + 68), (2 * DAY + 32, 2 * DAY + 68))
    comes = task("comes", 4, uses=("trade",), calendars=("days",), splittable=False)
    trades = (Resource("crew", "Mar", "crew"), Resource("trade", "Plumber", "trade"))
    house = problem(lift, comes, links=[link(lift, comes)], calendars=[HOURS, days],
                    resources=trades)  # fmt: skip

    assert at(house, {lift: 30}, of=comes) == (DAY + 32, DAY + 36)
    assert at(house, {lift: 155}, of=comes) == (2 * DAY + 32, 2 * DAY + 36)


def test_boards_stay_down_for_whoever_stands_there_first():
    stand, lift, fix = (evening_task(name, 4) for name in ("stand", "lift", "fix"))
    house = problem(
        stand, lift, fix, links=[link(lift, fix)], calendars=[HOURS],
        open_spans=[span(lift, fix, stand)],
    )  # fmt: skip
    first = Solution(tuple(
        Stint(a.key, MON + 4 * n, MON + 4 * n + 4) for n, a in enumerate((stand, lift))
    ) + (Stint(fix.key, TUE, TUE + 4),))  # fmt: skip

    assert at(house, {stand: 90}, of=lift, solution=first) == (MON + 6, MON + 10)


def test_setting_up_is_not_paid_twice_for_work_that_goes_straight_on():
    lift, tile = evening_task("lift", 6), evening_task("tile", 10, set_up=1, clear_up=1)
    house = problem(lift, tile, links=[link(lift, tile)], calendars=[HOURS])
    broken = Solution((
        Stint(lift.key, MON, MON + 6), Stint(tile.key, MON + 6, MON + 10),
        Stint(tile.key, TUE, TUE + 10),
    ))  # fmt: skip

    # Lifting is done in no time: both of the tiling's stints come one after the other.
    assert at(house, {}, of=tile, solution=broken) == (MON + 6, TUE + 10)
    assert at(house, {lift: 1, tile: 90}, of=tile, solution=broken) == (
        MON + 1 / 15, MON + 1 / 15 + 8,
    )  # fmt: skip


def test_what_finds_no_place_in_the_plans_days_never_happens():
    lift = evening_task("lift", 10)
    house = problem(lift, calendars=[calendar("crew", EVENING)])

    assert at(house, {lift: 151}, of=lift)[1] * 15 >= NEVER


def test_a_plan_that_breaks_its_own_rule_is_not_followed_but_a_rough_one_is():
    lift, treat = evening_task("lift", 4), evening_task("treat", 4)
    house = problem(lift, treat, links=[link(lift, treat)], calendars=[HOURS])
    wrong = Solution((Stint(lift.key, MON, MON + 4), Stint(treat.key, MON + 2, MON + 6)))
    rough = Solution((wrong.stints[0], replace(wrong.stints[1], firm=False)))

    with pytest.raises(ValueError, match=r"task:treat cannot begin when the plan says"):
        run(house, wrong, {}, 1)
    assert run(house, rough, {}, 1).starts[treat.key].tolist() == [(MON + 4) * 15]
