"""Why not sooner: each reason is a rule that breaks one place earlier, said for a tired person."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from apps.planning.account import draft_of
from apps.planning.problem import Hold, Ref, Resource, RouteOpening, Solution, Stint
from apps.planning.reasons import RANK, explain, nearest_earlier
from apps.planning.rules import broken
from apps.planning.site import Site
from tests.strategies import houses
from tests.unit.plans import (
    DAY,
    calendar,
    evenings,
    link,
    plan,
    problem,
    release,
    say,
    span,
    task,
    visit,
)


def reason_for(asked, activity, number=0):
    """The reason for one stint of the best plan."""
    made = plan(asked)
    own = [stint for stint in made.stints if stint.activity == activity.key]
    return explain(asked, made, say)[own[number]]


def test_the_very_first_stint_has_nothing_before_it():
    lath = task("Lath", 4)

    reason = reason_for(problem(lath), lath)

    assert (reason.code, reason.sentence) == (
        "none",
        "The plan begins here: there is no sooner.",
    )


def test_the_first_stint_of_the_first_evening_waits_for_the_evening():
    lath = task("Lath", 4, calendars=("crew",))

    reason = reason_for(problem(lath, calendars=[calendar("crew", *evenings(2))]), lath)

    assert (reason.code, reason.sentence) == (
        "no_working_time",
        "These are the hours of crew.",
    )


def test_a_busy_crew_is_said_with_what_it_does_and_until_when():
    first, second = task("First", 4, splittable=False), task("Second", 8, splittable=False)

    reason = reason_for(problem(first, second), second)

    assert reason.code == "crew_busy"
    assert reason.sentence == "Mar is busy with First until day 1 01:00."
    assert reason.by == (first.ref,)


@pytest.mark.parametrize(
    ("kind", "code"), [("tool", "tool_busy"), ("trade", "visit"), ("crew", "crew_busy")]
)
def test_a_busy_resource_is_named_by_what_it_is(kind, code):
    first = task("First", 4, uses=("it",), splittable=False)
    second = task("Second", 8, uses=("it",), splittable=False)
    it = Resource("it", "The mixer", kind, ref=Ref(kind, 3, "The mixer"))

    reason = reason_for(problem(first, second, resources=[it]), second)

    assert reason.code == code
    assert reason.by == (first.ref, it.ref)


def test_drying_is_named_before_the_hours_that_end_with_it():
    screed = task("Screed", 4, calendars=("crew",))
    tiles = task("Tiles", 4, calendars=("crew",))
    dries = link(screed, tiles, lag=DAY, code="drying", reason="Lime dries a day.")
    asked = problem(screed, tiles, links=[dries], calendars=[calendar("crew", *evenings(3))])

    reason = reason_for(asked, tiles)

    assert reason.code == "drying"
    assert reason.sentence == ("Screed ends day 1 19:30 and 1 day must pass. Lime dries a day.")
    assert reason.by == (screed.ref,)


def test_a_wait_in_working_time_says_so():
    first, second = task("First", 4, uses=()), task("Second", 4, uses=())
    waits = link(first, second, "SS", 6, clock="working")
    asked = problem(
        first,
        second,
        links=[waits],
        calendars=[calendar("crew", (0, 90))],
        working_calendar="crew",
    )

    reason = reason_for(asked, second)

    assert reason.sentence == "First starts day 1 00:00 and 1 h 30 min must pass of working time."


def test_the_longest_wait_is_said_with_what_must_follow():
    mix = task("Mix", 2, uses=(), splittable=False)
    lay = task("Lay", 4, splittable=False, releases=(release(40),))

    reason = reason_for(problem(mix, lay, links=[link(mix, lay, max_lag=3)]), mix)

    assert reason.code == "predecessor"
    assert reason.sentence == "Lay must follow within 45 min, and comes at day 1 10:00."
    assert reason.by == (lay.ref,)


@pytest.mark.parametrize("code", ["supply", "timber_wet", "notice", "not_before"])
def test_a_release_is_told_in_its_own_words(code):
    lay = task("Lay", 4, releases=(release(40, code, "The lime comes on Tuesday."),))

    reason = reason_for(problem(lay), lay)

    assert (reason.code, reason.sentence) == (code, "The lime comes on Tuesday.")


def test_the_helpers_day_is_the_reason_though_the_crew_had_evenings_before():
    lift = task("Lift", 6, calendars=("crew", "helper"), splittable=False)
    sunday = (6 * DAY + 40, 6 * DAY + 52)
    asked = problem(
        lift,
        calendars=[
            calendar("crew", *evenings(4), sunday),
            calendar("helper", sunday, code="helper_away"),
        ],
    )

    assert reason_for(asked, lift).code == "helper_away"


def test_quiet_hours_are_the_reason_for_the_second_evening_of_loud_work():
    breaking = task("Break out", 4, calendars=("crew", "loud"))
    loud = [(day * DAY + 70, day * DAY + 76) for day in range(5)]
    asked = problem(
        breaking,
        calendars=[
            calendar("crew", *evenings(5)),
            calendar("loud", *loud, code="quiet_hours"),
        ],
    )

    assert reason_for(asked, breaking, 1).code == "quiet_hours"


def test_a_stint_that_carries_on_says_from_when():
    strip = task("Strip", 15, calendars=("crew",))
    asked = problem(strip, calendars=[calendar("crew", *evenings(3))])

    reason = reason_for(asked, strip, 1)

    assert reason.code == "no_working_time"
    assert reason.sentence == (
        "It carries on from day 1 18:30; there is no working time in between."
    )


def test_boards_that_are_up_are_told_with_their_closing():
    fix = task("Fix", 2, releases=(release(20),))
    sand = task("Sand", 4, uses=())
    asked = problem(fix, sand, open_spans=[span(None, fix, sand)])

    reason = reason_for(asked, sand)

    assert reason.code == "boards_held"
    assert reason.sentence == "Boards are up where it stands until day 1 05:30."
    assert reason.by == (fix.ref,)


def test_boards_are_not_lifted_under_work_that_stands_on_them():
    lift = task("Lift", 2, uses=())
    sand = task("Sand", 4, uses=(), releases=(release(9),))
    asked = problem(lift, sand, open_spans=[span(lift, None, sand)])

    reason = reason_for(asked, lift)

    assert reason.code == "boards_held"
    assert reason.sentence == "Sand needs the boards down until day 1 03:15."
    assert reason.by == (sand.ref,)


def test_a_visit_is_a_fact_and_has_no_reason():
    plumber = visit("Plumber", 4, 12)
    asked = problem(plumber)

    assert explain(asked, plan(asked), say) == {}


def test_after_a_visit_the_visit_is_the_reason_even_when_the_crew_is_busy_too():
    plumber = visit("Plumber", 0, 12)
    close_up = task("Close up", 4)
    asked = problem(plumber, close_up, links=[link(plumber, close_up, code="visit")])

    reason = reason_for(asked, close_up)

    assert reason.code == "visit"
    assert reason.sentence == "Plumber ends day 1 03:00."


def test_a_plan_that_nobody_tidied_may_have_no_reason():
    lath = task("Lath", 4)
    loose = Solution(stints=(Stint(lath.key, 10, 14),))

    reason = explain(problem(lath), loose, say)[Stint(lath.key, 10, 14)]

    assert (reason.code, reason.sentence) == (
        "none",
        "Nothing keeps Lath from an earlier place.",
    )


@settings(deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(houses())
def test_every_reason_is_the_foremost_rule_that_breaks_one_place_earlier(house):
    # Without a plan before: what stays where that had it is held back by no rule.
    house = replace(house, previous=())
    made = plan(house, 0.3)
    site = Site(house)
    draft = draft_of(site, made.stints)

    for stint, reason in explain(house, made, say).items():
        i = site.index[stint.activity]
        k = draft.stints[i].index((stint.start, stint.end))
        place = nearest_earlier(site, i, stint.start, stint.end - stint.start)
        rules = broken(draft, i, k, stint.start - 1 if place is None else place)
        if stint.start > 0:
            assert rules, f"{stint} could be earlier"
            assert reason.code != "none"
            assert all(
                RANK[rule.rule.code] >= RANK[reason.code]
                for rule in rules
                if rule.kind in {"release", "calendar"}
            )


def test_work_that_must_fit_into_one_weekend_says_so():
    first = task("First", 20, calendars=("crew",))
    trim = task("Trim", 16, calendars=("crew",), within="weekend", mode="carried_on")
    weekends = [(5 * DAY, 7 * DAY), (12 * DAY, 14 * DAY)]
    hours = [(day * DAY + 36, day * DAY + 56) for day in (4, 5, 12, 13)]
    asked = problem(
        first, trim, horizon=20 * DAY,
        calendars=[calendar("crew", *hours), calendar("weekend", *weekends)],
    )  # fmt: skip
    made = Solution((Stint(first.key, 4 * DAY + 36, 4 * DAY + 56),
                     Stint(trim.key, 5 * DAY + 36, 5 * DAY + 52)))  # fmt: skip

    reason = explain(asked, made, say)[made.stints[1]]

    assert reason.code == "crew_busy"
    alone = Solution(made.stints[1:])
    asked = problem(trim, horizon=20 * DAY, calendars=asked.calendars)
    reason = explain(asked, alone, say)[alone.stints[0]]
    assert reason.code == "no_working_time"
    assert reason.sentence == (
        "All of it must fit into one stretch of hours. These are the hours of weekend."
    )


def test_a_held_tool_is_named_with_what_holds_it_and_until_when():
    jack = Resource("jack", "The jack", "tool", ref=Ref("tool", 9, "The jack"))
    one = task("One", 4, holds=(Hold("jack", 3 * DAY),))
    two = task("Two", 4, holds=(Hold("jack", 4),))
    crew = Resource("crew", "Mar", "crew")

    asked = problem(one, two, resources=[crew, jack])
    made = Solution((Stint(one.key, 0, 4), Stint(two.key, 3 * DAY, 3 * DAY + 4)))

    reason = explain(asked, made, say)[made.stints[1]]

    assert reason.code == "tool_busy"
    assert reason.sentence == "The jack is held for One until day 4 00:00."
    assert reason.by == (one.ref, jack.ref)


def test_where_several_share_all_who_take_one_are_named():
    saws = Resource("saw", "The saws", "tool", capacity=2)
    one, two = (task(name, 8, uses=("saw",), splittable=False) for name in ("One", "Two"))
    both = task("Both", 4, uses=("saw",), demand=(2,), splittable=False, releases=(release(2),))
    asked = problem(one, two, both, resources=[saws])
    made = Solution((Stint(one.key, 0, 8), Stint(two.key, 0, 8), Stint(both.key, 8, 12)))

    reason = explain(asked, made, say)[made.stints[2]]

    assert reason.code == "tool_busy"
    assert reason.sentence == "The saws is busy with One and Two until day 1 02:00."
    assert reason.by == (one.ref, two.ref)


def test_what_runs_by_itself_only_has_to_begin_in_its_hours():
    dry = task("Dry", 30, uses=(), mode="elapsed", calendars=("crew",))
    asked = problem(dry, calendars=[calendar("crew", (74, 84))])

    reason = reason_for(asked, dry)

    assert reason.code == "no_working_time"


def test_what_stays_where_the_plan_before_had_it_says_so():
    sand = task("Sand", 4)
    asked = problem(sand, previous=[Stint(sand.key, 40, 44)])
    made = Solution((Stint(sand.key, 40, 44),))

    reason = explain(asked, made, say)[made.stints[0]]

    assert (reason.code, reason.by) == ("none", (sand.ref,))
    assert reason.sentence == "It could be sooner, and stays where the plan before had it."


def test_a_night_more_with_boards_up_on_the_way_is_a_reason():
    lift, fix = task("Lift", 4), task("Fix", 4, releases=(release(DAY),))
    asked = problem(
        lift, fix, route_openings=(RouteOpening(lift.key, fix.key),), nights=(88,), horizon=2 * DAY
    )
    made = Solution((Stint(lift.key, 85, 89), Stint(fix.key, DAY, DAY + 4)))

    reason = explain(asked, made, say)[made.stints[0]]

    assert reason.code == "boards_held"
    assert (
        reason.sentence == "Sooner, boards on a way through the house would be up one night more."
    )
