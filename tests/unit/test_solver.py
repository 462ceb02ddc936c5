"""Plans small enough to find the best one by hand. Times are quarter-hours from the origin."""

import pytest

from apps.planning.problem import Resource
from apps.planning.solver import solve
from tests.unit.plans import (
    DAY,
    calendar,
    evenings,
    link,
    plan,
    problem,
    release,
    span,
    stints,
    task,
    values,
    visit,
)


def test_one_task_begins_when_work_begins():
    lath = task("Lath", 4, calendars=("crew",))

    made = plan(problem(lath, calendars=[calendar("crew", *evenings(3))]))

    assert stints(made, lath) == [(74, 78)]
    assert made.proven
    assert made.gap == 0.0


@pytest.mark.parametrize(
    ("kind", "lag", "start_of_second"),
    [
        ("FS", 0, 8),
        ("FS", 5, 13),
        ("FS", -3, 5),
        ("SS", 0, 0),
        ("SS", 2, 2),
        ("FF", 0, 4),
        ("FF", 3, 7),
        ("SF", 6, 2),
        ("SF", 20, 16),
    ],
)
def test_each_kind_of_link_holds_the_second_task_back_as_long_as_it_must(
    kind, lag, start_of_second
):
    first = task("First", 8, uses=(), splittable=False)
    second = task("Second", 4, uses=(), splittable=False)

    made = plan(problem(first, second, links=[link(first, second, kind, lag)]))

    assert stints(made, first) == [(0, 8)]
    assert stints(made, second) == [(start_of_second, start_of_second + 4)]
    assert made.proven


def test_drying_counts_the_hours_of_the_night():
    screed = task("Screed", 4, calendars=("crew",))
    tiles = task("Tiles", 4, calendars=("crew",))

    made = plan(
        problem(
            screed,
            tiles,
            links=[link(screed, tiles, lag=DAY)],
            calendars=[calendar("crew", *evenings(3))],
        )
    )

    assert stints(made, tiles) == [(DAY + 78, DAY + 82)]


def test_a_wait_in_working_time_stands_still_overnight():
    paint = task("Paint", 4, calendars=("crew",))
    second_coat = task("Second coat", 4, calendars=("crew",))

    made = plan(
        problem(
            paint,
            second_coat,
            links=[link(paint, second_coat, lag=12, clock="working")],
            calendars=[calendar("crew", *evenings(4))],
            working_calendar="crew",
        )
    )

    # Six quarters are left of the first evening, six more are waited for on the second.
    assert stints(made, second_coat) == [(DAY + 80, DAY + 84)]
    assert made.proven


def test_a_longest_wait_pulls_the_earlier_task_up_to_the_later_one():
    mix = task("Mix", 2, uses=(), splittable=False)
    lay = task("Lay", 4, splittable=False, releases=(release(40),))

    made = plan(problem(mix, lay, links=[link(mix, lay, max_lag=3)]))

    assert stints(made, lay) == [(40, 44)]
    assert stints(made, mix) == [(35, 37)]
    assert values(made)["unready"] == 0
    assert made.proven


def test_a_longest_wait_that_cannot_be_kept_is_counted_by_the_quarter():
    mix = task("Mix", 2, calendars=("today",))
    lay = task("Lay", 4, releases=(release(40),))

    made = plan(
        problem(
            mix,
            lay,
            links=[link(mix, lay, max_lag=3)],
            calendars=[calendar("today", (0, 20))],
        )
    )

    # Mixed as late as its hours allow, 18 to 20, it still waits 20 of 3 allowed.
    assert stints(made, mix) == [(18, 20)]
    assert [(each.link.before, each.short) for each in made.unready] == [(mix.key, 17)]


def test_loud_work_with_half_an_hour_an_evening_takes_as_many_evenings_as_it_needs():
    breaking = task("Break out", 5, calendars=("crew", "loud"))
    quiet = task("Quiet", 10, calendars=("crew",))
    loud = [(day * DAY + 70, day * DAY + 76) for day in range(5)]

    made = plan(
        problem(
            breaking,
            quiet,
            calendars=[
                calendar("crew", *evenings(5)),
                calendar("loud", *loud, code="quiet_hours"),
            ],
        )
    )

    # No stint may be of one quarter: 2 and 2 leave 1, so 5 never fits in halves of hours.
    assert stints(made, breaking) == []
    assert values(made)["unplaced"] == 5

    even = task("Break out", 6, calendars=("crew", "loud"))
    made = plan(
        problem(
            even,
            quiet,
            calendars=[
                calendar("crew", *evenings(5)),
                calendar("loud", *loud, code="quiet_hours"),
            ],
        )
    )

    assert stints(made, even) == [(day * DAY + 74, day * DAY + 76) for day in range(3)]
    assert stints(made, quiet) == [(76, 84), (DAY + 76, DAY + 78)]
    assert made.proven


def test_work_for_two_waits_for_the_day_the_helper_comes():
    lift = task("Lift the beam", 6, calendars=("crew", "helper"), splittable=False)
    small = task("Small work", 12, calendars=("crew",))
    sunday = (6 * DAY + 40, 6 * DAY + 52)

    made = plan(
        problem(
            lift,
            small,
            calendars=[
                calendar("crew", *evenings(4), sunday),
                calendar("helper", sunday, code="helper_away"),
            ],
        )
    )

    assert stints(made, lift) == [(6 * DAY + 40, 6 * DAY + 46)]
    assert stints(made, small) == [(74, 84), (DAY + 74, DAY + 76)]


@pytest.mark.parametrize(("saws", "finish"), [(1, 12), (2, 8), (3, 4)])
def test_a_tool_serves_as_many_tasks_at_once_as_there_are_pieces_of_it(saws, finish):
    cuts = [task(name, 4, uses=("saw",), splittable=False) for name in ("A", "B", "C")]

    made = plan(problem(*cuts, resources=[Resource("saw", "Saw", "tool", saws)]))

    assert values(made)["finish"] == finish
    assert made.proven


def test_each_stint_holds_its_own_set_up_and_clear_up():
    dusty = task("Dusty", 12, calendars=("crew",), set_up=1, clear_up=1)

    made = plan(problem(dusty, calendars=[calendar("crew", *evenings(3))]))

    # Eight of ten quarters are work on the first evening; four are left.
    assert stints(made, dusty) == [(74, 84), (DAY + 74, DAY + 80)]
    assert made.proven


def test_a_task_that_cannot_be_split_waits_for_an_evening_it_has_to_itself():
    start = task("Start", 4, calendars=("crew",))
    pour = task("Pour", 9, calendars=("crew",), splittable=False)

    made = plan(
        problem(
            start,
            pour,
            links=[link(start, pour)],
            calendars=[calendar("crew", *evenings(3))],
        )
    )

    assert stints(made, pour) == [(DAY + 74, DAY + 83)]


def test_a_visit_that_comes_too_soon_is_unready_by_exactly_the_missing_time():
    strip = task("Strip", 15, calendars=("crew",))
    plumber = visit("Plumber", 90, 106)

    made = plan(
        problem(
            strip,
            plumber,
            links=[link(strip, plumber)],
            calendars=[calendar("crew", *evenings(3))],
        )
    )

    # Ten quarters on the first evening, five on the second: done at 175, wanted at 90.
    assert stints(made, plumber) == [(90, 106)]
    assert [(each.link.before, each.short) for each in made.unready] == [(strip.key, 85)]
    assert values(made)["unready"] == 85
    assert made.proven


def test_what_a_visit_needs_comes_before_what_was_written_down_first():
    other = task("Other", 10, calendars=("crew",))
    strip = task("Strip", 10, calendars=("crew",))
    plumber = visit("Plumber", 90, 106)

    made = plan(
        problem(
            other,
            strip,
            plumber,
            links=[link(strip, plumber)],
            calendars=[calendar("crew", *evenings(3))],
        )
    )

    assert stints(made, strip) == [(74, 84)]
    assert made.unready == ()


def test_a_visit_the_crew_attends_keeps_it_busy_and_opens_what_waits_for_it():
    plumber = visit("Plumber", 4, 12, uses=("crew",))
    close_up = task("Close up", 4)
    other = task("Other", 3, splittable=False)

    made = plan(problem(plumber, close_up, other, links=[link(plumber, close_up)]))

    assert stints(made, other) == [(0, 3)]
    assert stints(made, close_up) == [(12, 16)]
    assert made.proven


def test_of_two_late_tasks_the_heavier_is_done_first():
    light = task("Light", 8, due=8, splittable=False)
    heavy = task("Heavy", 8, due=8, due_weight=3, splittable=False)

    made = plan(problem(light, heavy))

    assert stints(made, heavy) == [(0, 8)]
    assert values(made)["late"] == 8
    assert made.proven


def test_a_circle_is_named_in_order_and_the_rest_is_planned():
    a, b, c = task("A", 2), task("B", 2), task("C", 2)
    behind, free = task("D", 2), task("E", 2)
    links = [link(a, b), link(b, c), link(c, a), link(c, behind)]

    made = plan(problem(a, b, c, behind, free, links=links))

    circle = made.circles[0]
    assert len(made.circles) == 1
    assert all(
        one.after == two.before for one, two in zip(circle, circle[1:] + circle[:1], strict=True)
    )
    assert {each.activity for each in made.unplaced} == {a.key, b.key, c.key, behind.key}
    assert stints(made, free) == [(0, 2)]
    assert values(made)["unplaced"] == 8
    assert made.proven


def test_work_during_other_work_is_no_circle():
    guard = task("Guard", 4, uses=(), splittable=True, shortest_stint=1)
    burn = task("Burn", 8, uses=(), splittable=False, releases=(release(10),))

    made = plan(problem(guard, burn, links=[link(guard, burn, "SS"), link(burn, guard, "FF")]))

    assert made.circles == ()
    assert stints(made, burn) == [(10, 18)]
    assert stints(made, guard)[-1][1] >= 18
    assert made.unplaced == ()


def test_what_does_not_fit_is_left_out_with_the_quarters_that_are_short():
    big = task("Big", 25, calendars=("crew",))

    made = plan(problem(big, calendars=[calendar("crew", *evenings(2))]))

    assert made.stints == ()
    assert [(each.activity, each.short, each.code) for each in made.unplaced] == [
        (big.key, 5, "no_working_time")
    ]
    assert "1 h 15 min" in made.unplaced[0].sentence
    assert made.proven


def test_when_not_all_fits_as_little_work_as_possible_is_left_out():
    big = task("Big", 8, calendars=("crew",), splittable=False)
    others = [task(name, 5, calendars=("crew",), splittable=False) for name in ("A", "B")]

    made = plan(problem(big, *others, calendars=[calendar("crew", *evenings(1))]))

    assert [each.activity for each in made.unplaced] == [big.key]
    assert values(made)["unplaced"] == 8
    assert made.proven


def test_nobody_stands_where_boards_are_up():
    lift, fix = task("Lift", 2), task("Fix", 2)
    wire = task("Wire", 6)
    sand = task("Sand", 4, releases=(release(1),), splittable=False)

    made = plan(
        problem(
            lift,
            wire,
            fix,
            sand,
            links=[link(lift, wire), link(wire, fix)],
            open_spans=[span(lift, fix, sand)],
        )
    )

    (lift_at,), (fix_at,), (sand_at,) = (stints(made, each) for each in (lift, fix, sand))
    assert sand_at[1] <= lift_at[0] or sand_at[0] >= fix_at[1]
    assert values(made)["finish"] == 14
    assert made.proven


def test_boards_whose_closing_has_no_place_stay_up_for_ever():
    lift = task("Lift", 2, uses=(), releases=(release(10),))
    sand = task("Sand", 4, uses=(), releases=(release(8),), splittable=False)
    fix = task("Fix", 3, calendars=("early",), splittable=False)
    other = task("Other work", 4, calendars=("early",), splittable=False)
    early = calendar("early", (0, 4))

    made = plan(
        problem(lift, sand, fix, other, calendars=[early], open_spans=[span(lift, fix, sand)])
    )

    # The one early window holds the longer task, so nothing closes what Lift opens.
    assert stints(made, fix) == []
    assert stints(made, sand) == [(8, 12)]
    assert stints(made, lift) == [(12, 14)]


def test_boards_that_are_up_now_keep_work_off_until_they_are_fixed():
    fix, sand = task("Fix", 2, releases=(release(20),)), task("Sand", 4)

    made = plan(problem(fix, sand, open_spans=[span(None, fix, sand)]))

    assert stints(made, sand) == [(22, 26)]


def test_boards_that_nothing_closes_are_lifted_last():
    lift, sand = task("Lift", 2), task("Sand", 4, releases=(release(9),))

    made = plan(problem(lift, sand, open_spans=[span(lift, None, sand)]))

    assert stints(made, sand) == [(9, 13)]
    assert stints(made, lift) == [(13, 15)]


def test_work_on_boards_that_are_up_for_good_has_no_place():
    sand = task("Sand", 4)

    made = plan(problem(sand, open_spans=[span(None, None, sand)]))

    assert [(each.activity, each.code) for each in made.unplaced] == [(sand.key, "boards_held")]
    assert made.proven


def test_boards_are_closed_before_a_visit_that_stands_on_them():
    lift, fix = task("Lift", 2), task("Fix", 2)
    plasterer = visit("Plasterer", 40, 60)

    made = plan(
        problem(
            lift, fix, plasterer, links=[link(lift, fix)], open_spans=[span(lift, fix, plasterer)]
        )
    )

    assert stints(made, lift) == [(0, 2)]
    assert stints(made, fix) == [(2, 4)]


def test_boards_stay_down_until_a_visit_that_they_could_not_be_closed_before():
    lift, fix = task("Lift", 2), task("Fix", 2, releases=(release(50),))
    plasterer = visit("Plasterer", 40, 60)

    made = plan(
        problem(
            lift, fix, plasterer, links=[link(lift, fix)], open_spans=[span(lift, fix, plasterer)]
        )
    )

    assert stints(made, lift) == [(60, 62)]
    assert made.unplaced == ()


def test_the_first_plan_is_shown_once_and_is_complete():
    tasks = [task(name, 6, calendars=("crew",)) for name in "ABCDEF"]
    seen = []

    made = solve(
        problem(*tasks, calendars=[calendar("crew", *evenings(6))]),
        deterministic_seconds=1,
        on_first=seen.append,
    )

    assert len(seen) == 1
    assert {stint.activity for stint in seen[0].stints} == {each.key for each in tasks}
    assert [level.value for level in made.levels] <= [level.value for level in seen[0].levels]


def test_the_same_question_has_the_same_answer():
    tasks = [
        task(name, 5 + n, calendars=("crew",), due=90 + 7 * n) for n, name in enumerate("ABCDEF")
    ]
    asked = problem(
        *tasks,
        links=[link(tasks[0], tasks[3], lag=40), link(tasks[1], tasks[4], max_lag=20)],
        calendars=[calendar("crew", *evenings(9))],
    )

    assert plan(asked, 0.5) == plan(asked, 0.5)


def test_an_old_plan_is_kept_where_no_other_is_better():
    first, second = task("First", 4, splittable=False), task("Second", 4, splittable=False)
    before = plan(problem(second, first))

    again = plan(problem(first, second, previous=before.stints))

    assert again.stints == before.stints


def test_an_empty_house_has_an_empty_plan():
    made = plan(problem())

    assert made.stints == ()
    assert made.proven
