"""Rarer forms of work, small enough to see the best plan: one piece, held tools, several units."""

import pytest

from apps.planning.problem import Hold, Resource
from tests.checker import violations
from tests.unit.plans import (
    DAY,
    calendar,
    evenings,
    link,
    plan,
    problem,
    release,
    stints,
    task,
    values,
    visit,
)


def test_what_runs_on_by_itself_begins_in_its_hours_and_ends_by_the_wall_clock():
    soak = task("Soak", 40, mode="elapsed", uses=(), calendars=("crew",), releases=(release(80),))
    brush = task("Brush", 2, calendars=("crew",))

    asked = problem(
        soak, brush, links=[link(soak, brush)], calendars=[calendar("crew", *evenings(3))]
    )
    made = plan(asked)

    assert stints(made, soak) == [(80, 120)]
    assert stints(made, brush) == [(DAY + 74, DAY + 76)]
    assert violations(asked, made) == []


def test_carried_on_work_takes_its_next_hours_and_nobody_else_gets_between():
    cast = task("Cast", 16, mode="carried_on", calendars=("crew",), due=2 * DAY, due_weight=5)
    sweep = task("Sweep", 2, calendars=("crew",))

    asked = problem(cast, sweep, calendars=[calendar("crew", *evenings(3))])
    made = plan(asked)

    assert stints(made, cast) == [(74, 84), (DAY + 74, DAY + 80)]
    assert stints(made, sweep) == [(DAY + 80, DAY + 82)]
    assert made.proven


def test_set_up_of_carried_on_work_is_taken_once():
    cast = task("Cast", 10, mode="carried_on", set_up=2, clear_up=1, calendars=("crew",))

    made = plan(problem(cast, calendars=[calendar("crew", *evenings(3))]))

    assert stints(made, cast) == [(74, 84), (DAY + 74, DAY + 77)]


def test_all_within_one_weekend_waits_for_a_weekend_that_is_long_enough():
    hang = task("Hang", 12, calendars=("crew",), within="weekends")
    hours = calendar("crew", (0, 8), (20, 26), (40, 48), (50, 56))
    weekends = calendar("weekends", (0, 30), (38, 60))
    early = visit("Plumber", 4, 8, uses=("crew",))

    asked = problem(hang, early, calendars=[hours, weekends])
    made = plan(asked)

    assert stints(made, hang) == [(40, 48), (50, 54)]
    assert violations(asked, made) == []


def test_a_jack_stays_under_the_joist_while_the_mortar_goes_off():
    jack = Resource("jack", "The jack", "tool")
    first = task("First", 4, holds=(Hold("jack", 30),))
    second = task("Second", 4, holds=(Hold("jack", 30),))

    asked = problem(first, second, resources=(Resource("crew", "Mar", "crew"), jack))
    made = plan(asked)

    assert sorted(stints(made, first) + stints(made, second)) == [(0, 4), (30, 34)]
    assert made.proven


def test_what_is_held_is_not_used_a_second_time():
    lone = task("Lone", 4, uses=("crew", "saw"), holds=(Hold("saw", 10),))

    assert stints(plan(problem(lone)), lone) == [(0, 4)]


@pytest.mark.parametrize(("props", "finish"), [(2, 12), (3, 12), (4, 6), (6, 4)])
def test_work_that_takes_two_props_shares_them_by_number(props, finish):
    tools = (Resource("prop", "Props", "tool", props),)
    lifts = [task(name, 4, uses=("prop",), demand=(2,)) for name in "abc"]

    made = plan(problem(*lifts, resources=tools))

    assert values(made)["finish"] == finish


def test_work_that_takes_more_than_there_is_has_no_place():
    lift = task("Lift", 4, uses=("prop",), demand=(3,))

    made = plan(problem(lift, resources=(Resource("prop", "Props", "tool", 2),)))

    assert values(made)["unplaced"] == 4
    assert made.proven
