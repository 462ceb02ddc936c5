"""What stays where the last plan had it, nights with the floor open, work broken off."""

from apps.planning.problem import RouteOpening, Stint
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

HOURS = calendar("crew", *evenings(6))


def was(activity, start, end, **changes):
    return Stint(activity.key, start, end, **changes)


def crew(name, effort, **changes):
    return task(name, effort, calendars=("crew",), splittable=False, **changes)


def test_work_about_to_begin_stays_though_the_plan_would_end_sooner_without_it():
    tonight, long = crew("Tonight", 4), crew("Long", 8)
    before = [was(tonight, 76, 80), was(long, DAY + 76, DAY + 84)]

    asked = problem(
        tonight, long, calendars=[HOURS], previous=before, settled_until=2 * DAY
    )  # fmt: skip
    made = plan(asked)

    assert stints(made, tonight) == [(76, 80)]
    assert stints(made, long) == [(DAY + 76, DAY + 84)]
    assert values(made)["disturbed"] == 0
    assert violations(asked, made) == []


def test_work_about_to_begin_moves_where_an_agreed_visit_needs_it_to():
    tonight, lift = crew("Tonight", 4), crew("Lift", 8)
    plumber = visit("Plumber", 90, 94)

    made = plan(
        problem(
            tonight, lift, plumber, calendars=[HOURS], links=[link(lift, plumber)],
            previous=[was(tonight, 74, 78), was(lift, DAY + 74, DAY + 82)], settled_until=DAY,
        )
    )  # fmt: skip

    assert stints(made, lift) == [(74, 82)]
    assert values(made)["unready"] == 0
    assert values(made)["disturbed"] == 1
    assert made.proven


def test_what_cannot_be_kept_is_known_to_be_moved():
    late = crew("Late", 4, releases=(release(100),))

    made = plan(
        problem(late, calendars=[HOURS], previous=[was(late, 74, 78)], settled_until=DAY)
    )  # fmt: skip

    level = made.level("disturbed")
    assert (level.value, level.bound) == (1, 1)


def test_of_two_plans_that_end_together_the_one_like_the_last_is_taken():
    a, b, c = (crew(name, 4) for name in "abc")
    before = [was(c, 74, 78), was(b, 78, 82), was(a, DAY + 74, DAY + 78)]

    made = plan(problem(a, b, c, calendars=[HOURS], previous=before))

    assert [stints(made, one) for one in (c, b, a)] == [
        [(74, 78)], [(78, 82)], [(DAY + 74, DAY + 78)],
    ]  # fmt: skip
    assert made.proven


def test_what_was_known_to_the_half_day_is_not_moved_by_beginning_within_it():
    a = crew("a", 4)

    made = plan(problem(a, calendars=[HOURS], previous=[was(a, 72, 84, firm=False)]))

    assert stints(made, a) == [(74, 78)]
    assert values(made)["moved"] == 0


def test_a_way_through_the_house_is_open_for_as_few_nights_as_the_finish_allows():
    lift, fix = crew("Lift", 4), crew("Fix", 4, releases=(release(3 * DAY),))
    other = crew("Other", 6, releases=(release(4 * DAY),))

    asked = problem(
        lift, fix, other, calendars=[HOURS], links=[link(lift, fix)],
        route_openings=(RouteOpening(lift.key, fix.key),),
        nights=tuple(DAY * n for n in range(1, 8)),
    )  # fmt: skip
    made = plan(asked)

    assert values(made)["open_nights"] == 0
    assert stints(made, lift)[0][0] >= 3 * DAY
    assert made.proven
    assert violations(asked, made) == []


def test_nights_until_boards_that_are_up_can_be_down_are_counted_and_known():
    fix = crew("Fix", 4, releases=(release(2 * DAY),))

    made = plan(
        problem(
            fix, calendars=[HOURS], route_openings=(RouteOpening(None, fix.key),),
            nights=tuple(DAY * n for n in range(1, 8)),
        )
    )  # fmt: skip

    level = made.level("open_nights")
    assert (level.value, level.bound) == (2, 2)


def test_work_is_kept_whole_where_that_costs_nothing():
    first = crew("First", 6)
    broken = task("Broken", 8, calendars=("crew",))
    last = crew("Last", 10, releases=(release(3 * DAY),))

    made = plan(problem(first, broken, last, calendars=[HOURS]))

    assert len(stints(made, broken)) == 1
    assert values(made)["breaks"] == 0
    assert made.proven


def test_work_longer_than_any_evening_is_broken_off_as_often_as_it_must():
    long = task("Long", 25, calendars=("crew",))

    level = plan(problem(long, calendars=[HOURS])).level("breaks")

    assert (level.value, level.bound) == (2, 2)
