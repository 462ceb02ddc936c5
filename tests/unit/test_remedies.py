"""What would help: remedies tried by solving again, ranked by what they ask of somebody."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from apps.planning.account import solution as as_solution
from apps.planning.complaints import complaints
from apps.planning.levels import LEVELS
from apps.planning.mending import planned
from apps.planning.problem import Ref, Resource, Solution
from apps.planning.remedies import Change, Figures, Offer, Remedy, applied, cheapest, without
from apps.planning.remedy_search import remedies
from apps.planning.solver import solve
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
    task,
    visit,
)

CREW = ("crew",)


def helped(asked, offer=None, **options):
    """The complaints of the best plan, and the remedies of the first."""
    made = plan(asked)
    found = complaints(asked, made)
    offered = remedies(asked, made, found, offer or Offer(crew=CREW), **options)
    return found, offered[found[0]]


def kinds(found):
    return [remedy.change.kind for remedy in found]


def test_a_visit_that_cannot_be_prepared_says_what_is_short_and_what_takes_the_time():
    # Two evenings of 2 h 30 min before the visit: an hour of them goes to an agreed look.
    look = replace(visit("Look", 74, 78), uses=CREW)
    lift = task("Lift", 20, calendars=CREW)
    plumber = visit("Plumber", 2 * DAY + 32, 2 * DAY + 40)
    asked = problem(
        lift, look, plumber, links=[link(lift, plumber)],
        calendars=[calendar("crew", *evenings(5))], working_calendar="crew",
    )  # fmt: skip

    (complaint,), _ = helped(asked)

    assert (complaint.kind, complaint.activity) == ("unready", plumber.key)
    # 16 of 20 quarters fit; it ends on the third evening, an hour in.
    assert complaint.short == (2 * DAY + 78) - (2 * DAY + 32)
    assert complaint.working_short == 4
    assert complaint.needs == {lift.key}
    assert [(taken.ref, taken.quarters) for taken in complaint.taken_by] == [(look.ref, 4)]


def test_an_evening_more_or_a_later_visit_is_found_with_its_effect():
    lift = task("Lift", 24, calendars=CREW)
    plumber = visit("Plumber", 2 * DAY + 32, 2 * DAY + 40, calendars=("days",))
    days = [(day * DAY + 32, day * DAY + 68) for day in range(10)]
    asked = problem(
        lift, plumber, links=[link(lift, plumber)],
        calendars=[calendar("crew", *evenings(2), *evenings(8, 2)), calendar("days", *days)],
    )  # fmt: skip
    offer = Offer(
        visit_starts={plumber.key: tuple(day * DAY + 32 for day in range(2, 10))},
        evenings=((60, 70),),
        crew=CREW,
    )

    _, found = helped(asked, offer)

    assert kinds(found) == ["move_visit", "add_evening"]
    later, evening = found
    assert later.change.place == (3 * DAY + 32, 3 * DAY + 40)
    assert (later.size, later.before.short > 0, later.after.short) == (DAY, True, 0)
    # A telephone call, and an hour for a day.
    assert later.price == 30 + 60
    assert evening.change.windows == ((60, 70),)
    assert (evening.after.short, evening.after.finish) == (0, DAY + 78)
    assert evening.price == 150


def test_a_visit_is_not_moved_on_to_a_day_on_which_it_is_still_too_soon():
    lift = task("Lift", 4, calendars=CREW, releases=(release(3 * DAY),))
    plumber = visit("Plumber", DAY + 32, DAY + 40)
    asked = problem(
        lift, plumber, links=[link(lift, plumber, lag=DAY)],
        calendars=[calendar("crew", *evenings(9))],
    )  # fmt: skip

    _, (moved,) = helped(asked)

    # The lime comes on day 4, the evening ends at 19:30, and a day of drying must pass.
    assert moved.change.place == (4 * DAY + 78, 4 * DAY + 86)
    assert moved.after.unready == 0


def test_two_person_work_wants_the_helper_on_another_evening():
    lift = task("Lift", 6, calendars=("crew", "helper"), splittable=False)
    plumber = visit("Plumber", 2 * DAY + 32, 2 * DAY + 40)
    sunday = (6 * DAY + 40, 6 * DAY + 52)
    asked = problem(
        lift, plumber, links=[link(lift, plumber)],
        calendars=[
            calendar("crew", *evenings(4), sunday),
            calendar("helper", sunday, code="helper_away"),
        ],
    )  # fmt: skip

    _, found = helped(asked)

    remedy = next(one for one in found if one.change.kind == "bring_helper")
    assert remedy.change.calendars == ("helper",)
    assert remedy.change.windows == ((74, 80),)
    assert remedy.after.short == 0
    # Fifteen minutes to ask, and one and a half for each of the helper's ninety.
    assert remedy.price == 15 + 135


def test_work_too_long_for_every_evening_could_be_done_in_two_goes():
    screed = task("Screed", 14, calendars=CREW, splittable=False)
    asked = problem(screed, calendars=[calendar("crew", *evenings(3))])

    (complaint,), found = helped(asked)

    assert complaint.kind == "unplaced"
    assert [(one.change.kind, one.change.activity, one.after.unplaced) for one in found] == [
        ("split_task", screed.key, 0)
    ]


def test_what_takes_the_time_of_something_without_a_place_can_be_left_out():
    tasks = [task(name, 10, calendars=CREW) for name in ("Ash", "Beech", "Cedar")]
    asked = problem(*tasks, horizon=2 * DAY, calendars=[calendar("crew", *evenings(2))])
    made = plan(asked)
    (complaint,) = complaints(asked, made)
    others = {one.key for one in tasks} - {complaint.activity}

    (found,) = remedies(asked, made, [complaint], Offer(droppable=frozenset(others))).values()

    assert {taken.activity for taken in complaint.taken_by} == others
    assert {one.change.kind for one in found} == {"drop_task"}
    assert {one.change.activity for one in found} == others
    # Twice the two and a half hours left out, and the asking.
    assert {one.price for one in found} == {15 + 2 * 150}


def test_a_circle_is_cut_at_a_link_of_the_persons_own():
    paint, skirting = task("Paint", 4), task("Skirting", 4)
    loose = link(paint, skirting)
    asked = problem(paint, skirting, links=[loose, link(skirting, paint, code="sign_off")])

    found, offered = helped(asked, Offer(loose_links=frozenset({loose})))

    assert [one.kind for one in found] == ["unplaced", "unplaced"]
    assert [(one.change.kind, one.change.link) for one in offered] == [("drop_link", loose)]
    assert offered[0].after.unplaced == 0


def test_a_wanted_visit_that_misses_its_window_can_be_agreed_for_later():
    wanted = replace(
        task("Plasterer", 8, uses=("plasterer",), splittable=False, due=DAY, due_weight=10),
        ref=Ref("visit", 7, "Plasterer"), releases=(release(2 * DAY),),
    )  # fmt: skip
    asked = problem(wanted, resources=[Resource("plasterer", "Plasterer", "trade")])

    (complaint,), (moved,) = helped(asked)

    assert (complaint.kind, complaint.short) == ("window", DAY + 8)
    assert moved.change.place == (2 * DAY, 2 * DAY + 8)
    assert (moved.after.short, moved.after.late) == (0, 0)


def test_a_wait_that_is_too_long_names_what_lies_between():
    mix, lay = task("Mix", 2, splittable=False), task("Lay", 4, releases=(release(40),))
    asked = problem(
        mix, lay, links=[link(mix, lay, max_lag=3)], calendars=[calendar("crew", (0, 8), (40, 60))]
    )
    asked = replace(
        asked, activities=(replace(mix, calendars=CREW, due=2, releases=()), asked.activities[1])
    )
    fixed = replace(asked, activities=(replace(mix, fixed=(0, 2)), asked.activities[1]))

    (complaint,), _ = helped(fixed)

    assert (complaint.kind, complaint.activity, complaint.short) == ("too_long", lay.key, 35)
    assert (complaint.since, complaint.until) == (2, 40)


def test_without_effort_nothing_is_tried():
    lift, plumber = task("Lift", 24, calendars=CREW), visit("Plumber", DAY + 32, DAY + 40)
    asked = problem(
        lift, plumber, links=[link(lift, plumber)], calendars=[calendar("crew", *evenings(5))]
    )

    _, found = helped(asked, budget=0)

    assert found == ()


def figures(short, late=0):
    return Figures(short, unplaced=0, unready=short, late=late, finish=0)


@pytest.mark.parametrize(
    ("change", "size", "price"),
    [
        (Change("move_visit", "visit:1"), 96, 30 + 60),
        (Change("add_evening"), 10, 150),
        (Change("bring_helper", "task:1"), 8, 15 + 180),
        (Change("split_task", "task:1"), 0, 15),
        (Change("drop_link", "task:1"), 0, 15),
        (Change("drop_task", "task:1"), 4, 15 + 120),
    ],
)
def test_each_kind_has_its_price(change, size, price):
    assert Remedy(change, figures(4), figures(0), size).price == price
    # A day late costs an hour more.
    assert Remedy(change, figures(4), figures(0, late=96), size).price == price + 60


def test_what_ends_a_complaint_comes_first_and_only_the_best_of_each_kind():
    part = Remedy(Change("split_task", "task:1"), figures(8), figures(2), 0)
    whole = Remedy(Change("add_evening"), figures(8), figures(0), 10)
    longer = Remedy(Change("add_evening"), figures(8), figures(0), 20)
    useless = Remedy(Change("drop_task", "task:2"), figures(8), figures(8), 4)

    assert cheapest([part, longer, useless, whole], 3) == (whole, part)


def test_what_is_left_out_leaves_no_links_and_no_spans_behind():
    lift, sand, fix = task("Lift", 2), task("Sand", 2), task("Fix", 2)
    asked = problem(lift, sand, fix, links=[link(lift, fix)], open_spans=[span(lift, fix, sand)])

    assert without(asked, lift.key).links == without(asked, lift.key).open_spans == ()
    assert without(asked, fix.key).open_spans[0].closes is None
    assert without(asked, sand.key).open_spans[0].excludes == ()


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=20)
@given(houses())
def test_a_remedy_does_what_it_says_and_at_least_that(house):
    made = solve(house, deterministic_seconds=0.2)
    free = ((house.horizon // 2, min(house.horizon, house.horizon // 2 + 10)),)
    offer = Offer(
        evenings=free, crew=CREW, droppable=frozenset(a.key for a in house.activities),
        loose_links=frozenset(house.links),
    )  # fmt: skip
    found = complaints(house, made)

    for complaint, offered in remedies(house, made, found, offer).items():
        assert len(offered) <= 3
        for remedy in offered:
            assert remedy.after.short < complaint.short
            changed = applied(replace(house, previous=made.stints), remedy.change)
            shown = planned(changed, made, complaint.needs)
            told: Solution = as_solution(shown, bounds=[0] * len(LEVELS))
            assert violations(changed, told) == []
            assert told.level("unplaced").value == remedy.after.unplaced
            best = solve(changed, deterministic_seconds=0.2)
            assert [level.value for level in best.levels[:2]] <= [
                remedy.after.unplaced, remedy.after.unready,
            ]  # fmt: skip
