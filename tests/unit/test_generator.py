"""The generator: complete plans from an order of importance, and what it does when it cannot."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.planning.account import draft_of
from apps.planning.draft import Draft
from apps.planning.generator import build, generate
from apps.planning.levels import key
from apps.planning.mirror import mirror
from apps.planning.rules import broken
from apps.planning.site import Site
from apps.planning.tidy import justify
from apps.planning.windows import NEVER, Clock, complement, full_stretches, intersect, merge
from apps.planning.words import duration
from tests.checker import violations
from tests.strategies import houses
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

many = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])


def made_in_order(asked, *order):
    return generate(asked, [activity.key for activity in order])


def test_the_order_decides_who_is_served_first():
    a, b = task("A", 4, splittable=False), task("B", 4, splittable=False)
    asked = problem(a, b)

    assert stints(made_in_order(asked, a, b), a) == [(0, 4)]
    assert stints(made_in_order(asked, b, a), b) == [(0, 4)]


def test_links_outrank_the_order():
    a, b = task("A", 4), task("B", 4)

    made = made_in_order(problem(a, b, links=[link(b, a)]), a, b)

    assert stints(made, b) == [(0, 4)]
    assert stints(made, a) == [(4, 8)]


def test_nothing_stays_on_boards_whose_closing_was_taken_out_again():
    relay, beside, tread = task("Relay", 4), task("Beside", 4), task("Tread", 4)
    # The end of the relaying hangs on a later end that the planning axis has no room for.
    hang = [link(relay, beside, "SS"), link(beside, relay, "FF", lag=20 * DAY)]
    asked = problem(relay, beside, tread, links=hang, open_spans=[span(None, relay, tread)])

    made = made_in_order(asked, relay, beside, tread)

    assert violations(asked, made) == []
    assert stints(made, tread) == []


def test_tidying_moves_a_single_stint_where_the_whole_task_cannot_be_done_sooner():
    look = visit("Look", 18, 22)
    around, block = task("Around", 6), task("Block", 8, splittable=False, releases=(release(10),))
    site = Site(problem(around, block, look, links=[link(look, around, "FF")]))
    draft = Draft(site)
    draft.put(0, [(0, 2), (10, 12), (20, 22)])
    draft.put(1, [(12, 20)])

    tidied = justify(draft)

    assert tidied.stints[0] == [(0, 4), (20, 22)]
    assert tidied.stints[1] == [(10, 18)]


def test_a_thrifty_task_leaves_the_end_of_a_window_long_enough_for_a_stint():
    lone = task("Lone", 7, set_up=1, calendars=("crew",))
    asked = problem(lone, calendars=[calendar("crew", (0, 9), (20, 30))])
    site = Site(asked)

    filled, _ = build(site, [0])
    thrifty, _ = build(site, [0], thrifty=frozenset({0}))

    assert filled.stints[0] == [(0, 8)]
    assert thrifty.stints[0] == [(0, 6), (20, 23)]


def test_a_window_found_full_is_free_again_once_its_work_is_taken_out():
    first, second = task("First", 20, calendars=("crew",)), task("Second", 4, calendars=("crew",))
    draft = Draft(Site(problem(first, second, calendars=[calendar("crew", *evenings(3))])))
    draft.put(0, [(74, 84), (170, 180)])

    full = [list(draft.gaps(1, 0)) for _ in range(2)]
    draft.take(0)

    assert full == [[(266, 276)], [(266, 276)]]
    assert list(draft.gaps(1, 0)) == list(evenings(3))


def test_a_gap_too_short_for_the_shortest_stint_stays_empty():
    first = task("First", 7, calendars=("crew",), splittable=False)
    second = task("Second", 8, calendars=("crew",), shortest_stint=4)
    asked = problem(first, second, calendars=[calendar("crew", *evenings(3))])

    made = made_in_order(asked, first, second)

    assert stints(made, second) == [(DAY + 74, DAY + 82)]


def test_the_last_stint_is_never_shorter_than_the_shortest():
    long = task("Long", 11, calendars=("crew",))

    made = made_in_order(problem(long, calendars=[calendar("crew", *evenings(3))]), long)

    # Nine and two, not ten and one.
    assert stints(made, long) == [(74, 83), (DAY + 74, DAY + 76)]


def test_a_circle_stops_only_what_is_in_or_behind_it():
    a, free = task("A", 2), task("B", 2)

    made = made_in_order(problem(a, free, links=[link(a, a)]), a, free)

    assert [len(circle) for circle in made.circles] == [1]
    assert made.unplaced[0].sentence == "A waits for itself: A → A."
    assert stints(made, free) == [(0, 2)]


def test_what_waits_for_something_without_a_place_says_for_what():
    never = task("Never", 4, calendars=("none",))
    behind = task("Behind", 2)
    asked = problem(
        never, behind, links=[link(never, behind, code="drying")], calendars=[calendar("none")]
    )

    unplaced = {each.activity: each for each in made_in_order(asked, never, behind).unplaced}

    assert unplaced[behind.key].code == "drying"
    assert (
        unplaced[behind.key].sentence == "Behind waits for Never, which has no place in the plan."
    )
    assert unplaced[never.key].sentence == (
        "Never needs 30 min in one stretch; there is none at all. These are the hours of none."
    )


def test_what_a_visit_waits_for_without_a_place_leaves_it_unready_until_the_end_of_the_plan():
    never = task("Never", 4, calendars=("none",))
    plumber = visit("Plumber", 100, 110)
    asked = problem(
        never, plumber, links=[link(never, plumber)], calendars=[calendar("none")], horizon=500
    )

    made = made_in_order(asked, never, plumber)

    assert [each.short for each in made.unready] == [400]


def test_hours_too_short_for_one_stretch_name_the_hours_that_cut_them():
    pour = task("Pour", 6, calendars=("crew", "loud"), splittable=False)
    asked = problem(
        pour,
        calendars=[calendar("crew", (0, 20)), calendar("loud", (0, 4), code="quiet_hours")],
    )

    unplaced = made_in_order(asked, pour).unplaced[0]

    assert (unplaced.code, unplaced.short) == ("quiet_hours", 2)
    assert unplaced.sentence == (
        "Pour needs 1 h 30 min in one stretch; the longest there is has 1 h. "
        "These are the hours of loud."
    )


def test_more_work_than_the_whole_axis_has_no_hours_to_blame():
    pour = task("Pour", 30, splittable=False)

    unplaced = made_in_order(problem(pour, horizon=20), pour).unplaced[0]

    assert (unplaced.code, unplaced.short) == ("no_working_time", 10)


@pytest.mark.parametrize(
    ("changes", "code"),
    [({}, "crew_busy"), ({"uses": ("saw",)}, "tool_busy")],
)
def test_hours_that_others_take_are_said_to_be_taken(changes, code):
    first = task("First", 18, uses=("crew", "saw"), splittable=False)
    second = task("Second", 6, **changes)

    unplaced = made_in_order(problem(first, second, horizon=20), first, second).unplaced[0]

    assert (unplaced.activity, unplaced.code, unplaced.short) == (second.key, code, 4)


def test_a_release_too_late_for_the_work_is_named():
    lay = task("Lay", 8, releases=(release(15),))

    unplaced = made_in_order(problem(lay, horizon=20), lay).unplaced[0]

    assert (unplaced.code, unplaced.short) == ("supply", 3)
    assert unplaced.sentence.endswith("The lime comes late.")


def test_a_wait_that_reaches_past_the_end_is_named():
    screed, tiles = task("Screed", 4), task("Tiles", 8)
    asked = problem(screed, tiles, links=[link(screed, tiles, lag=12, code="drying")], horizon=20)

    unplaced = made_in_order(asked, screed, tiles).unplaced[0]

    assert (unplaced.code, unplaced.short) == ("drying", 4)
    assert "wait for Screed" in unplaced.sentence


def test_boards_nobody_closes_are_named():
    lift, sand = task("Lift", 2), task("Sand", 4, releases=(release(30),))
    asked = problem(lift, sand, links=[link(lift, sand)], open_spans=[span(lift, None, sand)])

    unplaced = made_in_order(asked, lift, sand).unplaced[0]

    assert unplaced.code == "boards_held"
    assert unplaced.sentence == ("Sand cannot happen while boards are up and nothing closes them.")


def test_work_shut_out_by_boards_is_moved_before_their_lifting():
    lift, fix = task("Lift", 2), task("Fix", 2)
    sand = task("Sand", 4)
    asked = problem(
        lift,
        fix,
        sand,
        links=[link(lift, fix), link(sand, fix)],
        open_spans=[span(lift, fix, sand)],
    )

    made = made_in_order(asked, lift, fix, sand)

    assert made.unplaced == ()
    assert stints(made, sand) == [(0, 4)]


def test_justified_work_is_never_later_and_never_worse():
    a, b = task("A", 4, splittable=False), task("B", 4, splittable=False)
    asked = problem(a, b, links=[link(a, b)])
    site = Site(asked)
    loose = draft_of(site, plan(asked).stints)
    loose.take(1)
    loose.put(1, [(30, 34)])

    tidied = justify(loose)

    assert tidied.stints == [[(0, 4)], [(4, 8)]]


@many
@given(houses(), st.randoms(use_true_random=False))
def test_any_order_gives_a_plan_that_keeps_the_rules(house, shuffler):
    order = [a.key for a in house.activities if a.fixed is None]
    shuffler.shuffle(order)

    assert violations(house, generate(house, order)) == []


@many
@given(houses(), st.randoms(use_true_random=False))
def test_after_justification_no_stint_can_be_earlier_and_no_level_is_worse(house, shuffler):
    order = [a.key for a in house.activities if a.fixed is None]
    shuffler.shuffle(order)
    site = Site(house)
    before = draft_of(site, generate(house, order).stints)

    after = justify(before)

    assert key(after) <= key(before)
    for i in site.movable:
        for k, (start, _) in enumerate(after.stints[i] or ()):
            assert all(broken(after, i, k, earlier) for earlier in range(start))


@many
@given(houses())
def test_a_house_mirrored_twice_has_the_same_hours_and_links(house):
    twice = mirror(mirror(house))

    assert twice.links == house.links
    assert [a.set_up for a in twice.activities] == [a.set_up for a in house.activities]
    assert [a.fixed for a in twice.activities] == [a.fixed for a in house.activities]


def test_windows_are_cut_joined_and_counted():
    assert intersect([(0, 4), (6, 9)], [(2, 7)]) == ((2, 4), (6, 7))
    assert merge([(5, 6), (0, 2), (2, 4), (3, 3)]) == [(0, 4), (5, 6)]
    assert complement([(2, 4), (6, 8)], 0, 8) == [(0, 2), (4, 6)]
    assert full_stretches([(0, 4), (2, 6), (3, 5)], 2) == [(2, 5)]


@given(
    st.lists(st.integers(0, 60), min_size=2, max_size=8, unique=True).map(sorted),
    st.integers(0, 70),
    st.integers(0, 70),
)
def test_the_working_clock_agrees_with_counting_quarters(edges, since, until):
    windows = list(zip(edges[::2], edges[1::2], strict=False))
    inside = {at for start, end in windows for at in range(start, end)}
    clock = Clock(windows)

    counted = sum(at in inside for at in range(min(since, until), max(since, until)))
    assert clock.wait(since, until) == (counted if until >= since else -max(1, counted))
    reading = clock.reading(since)
    assert reading == sum(at < since for at in inside)
    first, last = clock.first_with(reading), clock.last_with(reading)
    assert clock.reading(max(0, first)) == reading
    assert last == NEVER or clock.reading(last) == reading < clock.reading(last + 1)
    assert first <= since <= last
    assert clock.first_with(len(inside) + 1) == NEVER
    assert clock.last_with(-1) == -NEVER


@pytest.mark.parametrize(
    ("quarters", "words"),
    [
        (0, "0 min"),
        (3, "45 min"),
        (4, "1 h"),
        (9, "2 h 15 min"),
        (100, "1 day 1 h"),
        (192, "2 days"),
    ],
)
def test_lengths_of_time_are_said_in_words(quarters, words):
    assert duration(quarters) == words


def test_values_are_counted_from_the_stints_alone():
    late = task("Late", 4, due=2, due_weight=5)
    plumber = visit("Plumber", 1, 9)

    made = made_in_order(problem(late, plumber, links=[link(late, plumber)]), late, plumber)

    told = values(made)
    assert {name: told[name] for name in told if told[name]} == {
        "unready": 3,
        "late": 10,
        "finish": 4,
    }


def test_tidying_keeps_a_shortest_wait_that_a_broken_longest_wait_would_rather_give_up():
    mix = task("Mix", 2, uses=(), calendars=("early",), splittable=False)
    lay = task("Lay", 2, uses=(), calendars=("hours",), splittable=False)
    asked = problem(
        mix,
        lay,
        links=[link(mix, lay, lag=5, max_lag=6)],
        calendars=[calendar("early", (20, 22)), calendar("hours", (22, 24), (60, 64))],
    )

    tidied = justify(draft_of(Site(asked), made_in_order(asked, mix, lay).stints))

    # At 22 it would lie only 5 too soon, at 60 it waits 32 too long: too soon is forbidden.
    assert tidied.stints[1] == [(60, 62)]
