"""Plans of random small houses, judged by the checker that was written apart from the planner."""

from dataclasses import replace
from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.planning.problem import (
    Activity,
    Calendar,
    Hold,
    Link,
    Problem,
    Ref,
    Release,
    Resource,
    RouteOpening,
    Stint,
)
from apps.planning.reasons import explain
from apps.planning.solver import solve
from tests.checker import Plan, broken_rules, measured_levels, placement_rules, violations
from tests.strategies import ORIGIN, houses

SECONDS = 1.0
slow = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def plan_of(problem):
    return solve(problem, deterministic_seconds=SECONDS)


def values(solution):
    return [level.value for level in solution.levels]


@settings(slow, max_examples=40)
@given(houses())
def test_every_plan_keeps_the_rules(house):
    assert violations(house, plan_of(house)) == []


@settings(slow, max_examples=30)
@given(houses(rich=True))
def test_a_plan_with_work_of_one_piece_held_tools_and_routes_keeps_the_rules(house):
    assert violations(house, plan_of(house)) == []


def test_a_task_that_needs_nobody_is_still_at_one_place_at_a_time():
    drying_out = Activity("a", Ref("task", 1, "a"), effort=3, calendars=("c",), shortest_stint=1)
    hours = Calendar("c", "no_working_time", "", ((0, 2), (3, 4)))
    house = Problem(ORIGIN, 24, activities=(drying_out,), calendars=(hours,))

    solution = plan_of(house)

    assert [(stint.start, stint.end) for stint in solution.stints] == [(0, 2), (3, 4)]
    assert solution.level("finish").value == 4


def test_a_shortest_wait_is_kept_where_the_longest_wait_cannot_be():
    def task(key, effort, hours, **more):
        more |= {"calendars": (hours,), "splittable": False, "shortest_stint": 1}
        return Activity(key, Ref("task", 1, key), effort, ("crew",), **more)

    house = Problem(
        ORIGIN,
        9,
        activities=(
            task("a", 1, "short", due=5),
            task("b", 3, "day", due=1),
            Activity("c", Ref("visit", 1, "c"), 2, fixed=(4, 6)),
        ),
        links=(
            Link("a", "b", "FF", max_lag=0, clock="working"),
            Link("b", "c", "SS", min_lag=2, max_lag=3, clock="working"),
        ),
        calendars=(
            Calendar("day", "no_working_time", "", ((0, 9),)),
            Calendar("short", "quiet_hours", "", ((4, 7),)),
        ),
        resources=(Resource("crew", "Mar", "crew"),),
        working_calendar="short",
    )

    solution = plan_of(house)

    assert violations(house, solution) == []
    assert values(solution) == best_by_trying(house)


@settings(slow, max_examples=10)
@given(houses(max_activities=14, max_horizon=400))
def test_a_fuller_house_is_planned_by_the_same_rules(house):
    assert violations(house, plan_of(house)) == []


@settings(slow, max_examples=8)
@given(houses())
def test_the_same_question_gets_the_same_plan(house):
    assert plan_of(house) == plan_of(house)


@settings(slow, max_examples=10)
@given(houses(), st.randoms(use_true_random=False))
def test_the_order_in_which_tasks_are_written_down_changes_no_level(house, shuffler):
    activities, links = list(house.activities), list(house.links)
    shuffler.shuffle(activities)
    shuffler.shuffle(links)
    again = replace(house, activities=tuple(activities), links=tuple(links))

    first, second = plan_of(house), plan_of(again)

    if first.proven and second.proven:
        assert values(first) == values(second)


def stricter(draw, house):
    """The same house with one rule more: a later release, a shorter opening, an order."""
    movable = [n for n, a in enumerate(house.activities) if a.fixed is None]
    keys = sorted(activity.key for activity in house.activities)
    kind = draw(st.sampled_from(["release", "calendar", "link"]))
    if kind == "link" and len(keys) > 1:
        pair = st.lists(st.sampled_from(keys), min_size=2, max_size=2, unique=True)
        link = Link(*sorted(draw(pair)), min_lag=draw(st.integers(0, 6)))
        return replace(house, links=(*house.links, link))
    if kind == "calendar" or not movable:
        first = replace(house.calendars[0], windows=house.calendars[0].windows[1:])
        return replace(house, calendars=(first, *house.calendars[1:]))
    n = draw(st.sampled_from(movable))
    late = Release(draw(st.integers(0, house.horizon)), "supply", "Later.")
    activity = replace(house.activities[n], releases=(*house.activities[n].releases, late))
    return replace(house, activities=(*house.activities[:n], activity, *house.activities[n + 1 :]))


@settings(slow, max_examples=15)
@given(st.data())
def test_one_rule_more_never_makes_a_better_plan(data):
    house = data.draw(houses())
    # A working wait is counted on the calendar that is cut; keep the links out of that.
    house = replace(house, links=tuple(replace(link, clock="elapsed") for link in house.links))
    narrower = stricter(data.draw, house)

    easier, harder = plan_of(house), plan_of(narrower)

    if easier.proven and harder.proven:
        assert values(harder) >= values(easier)


def longest_chain(house, placed):
    """Earliest possible end of each placed activity: links and releases, boundless hands."""
    movable = {a.key: a for a in house.activities if a.fixed is None and a.key in placed}
    starts = {key: max([0, *(r.at for r in a.releases)]) for key, a in movable.items()}
    lengths = {key: a.set_up + a.effort + a.clear_up for key, a in movable.items()}
    for _ in movable:  # as often as there are activities: enough for any chain
        for link in house.links:
            if link.kind == "FS" and link.before in movable and link.after in movable:
                lag = link.min_lag if link.clock == "elapsed" else 0
                earliest = starts[link.before] + lengths[link.before] + lag
                starts[link.after] = max(starts[link.after], earliest)
    return max((starts[key] + lengths[key] for key in movable), default=0)


@settings(slow, max_examples=15)
@given(houses())
def test_no_plan_ends_before_its_longest_chain_or_its_fullest_hands(house):
    solution = plan_of(house)

    placed = {stint.activity for stint in solution.stints}
    crew_work = sum(
        a.set_up + a.effort + a.clear_up
        for a in house.activities
        if a.fixed is None and a.key in placed and "crew" in a.uses
    )
    finish = solution.level("finish")
    assert finish.value >= max(longest_chain(house, placed), crew_work)
    assert finish.bound <= finish.value


# Every plan of a tiny house, tried one by one.

TINY = 9


def places(activity):
    """All ways to lay an activity on the axis, in stints that are apart, and no place."""
    yield ()
    around, effort = activity.set_up + activity.clear_up, activity.effort
    shortest, splittable = min(activity.shortest_stint, effort), activity.splittable
    if activity.mode != "stints":
        around, effort = 0, effort + around
        shortest, splittable = 1, activity.mode == "carried_on"

    def lay(position, left):
        if not left:
            yield ()
        for work in range(shortest, left + 1):
            if work == effort or splittable:
                length = work + around
                for start in range(position, TINY - length + 1):
                    for rest in lay(start + length + 1, left - work):
                        yield ((start, start + length), *rest)

    yield from lay(0, effort)


@st.composite
def tiny_houses(draw):
    """Three activities on nine quarter-hours: few enough plans to try them all."""
    edges = sorted(draw(st.sets(st.integers(0, TINY), max_size=6)))
    edges = edges[: len(edges) // 2 * 2]
    windows = tuple(zip(edges[::2], edges[1::2], strict=True))
    hours = (
        Calendar("day", "no_working_time", "", ((0, TINY),)),
        Calendar("short", "quiet_hours", "", windows),
    )
    activities = []
    for number, key in enumerate(("a", "b", "c"), 1):
        start = draw(st.integers(0, TINY - 2))
        activities.append(
            Activity(
                key,
                Ref("task", number, key),
                effort=draw(st.integers(1, 3)),
                uses=draw(st.sampled_from([(), ("crew",)])),
                calendars=draw(st.sampled_from([("day",), ("short",)])),
                splittable=draw(st.booleans()),
                shortest_stint=draw(st.integers(1, 2)),
                set_up=draw(st.sampled_from([0, 0, 1])),
                releases=(Release(draw(st.integers(0, 4)), "supply", ""),),
                due=draw(st.none() | st.integers(0, TINY)),
                due_weight=draw(st.integers(1, 2)),
                fixed=(start, start + 2) if key == "c" and draw(st.booleans()) else None,
                mode=draw(st.sampled_from(["stints", "stints", "carried_on", "elapsed"])),
                within=draw(st.sampled_from([None, None, "short"])),
                holds=(Hold("jack", draw(st.integers(1, 4))),) if draw(st.booleans()) else (),
            )
        )
    links = tuple(
        Link(
            *pair,
            kind=draw(st.sampled_from(["FS", "SS", "FF", "SF"])),
            min_lag=(lag := draw(st.integers(0, 2))),
            max_lag=draw(st.none() | st.just(lag) | st.just(lag + 1)),
            clock=draw(st.sampled_from(["elapsed", "working"])),
        )
        for pair in (("a", "b"), ("b", "c"), ("a", "c"), ("c", "a"))
        if draw(st.sampled_from([True, False, False]))
    )
    return Problem(
        origin=ORIGIN,
        horizon=TINY,
        activities=tuple(activities),
        links=links,
        calendars=hours,
        resources=(Resource("crew", "Mar", "crew"), Resource("jack", "Jack", "tool")),
        working_calendar="short",
        previous=(Stint("a", before := draw(st.integers(0, 5)), before + 1),),
        settled_until=draw(st.integers(0, 5)),
        route_openings=(RouteOpening("a", "b"),),
        nights=(3, 6),
    )


def stints_of(activity):
    """Places of one activity that keep its own rules."""
    if activity.fixed is not None:
        return [(Stint(activity.key, *activity.fixed),)]
    return [tuple(Stint(activity.key, *place) for place in placed) for placed in places(activity)]


def best_by_trying(house):
    """The best levels of all plans that keep the rules."""
    alone = []
    for activity in house.activities:
        apart = replace(house, activities=(activity,), links=(), route_openings=())
        alone.append([s for s in stints_of(activity) if not list(placement_rules(Plan(apart, s)))])
    empty = plan_of(replace(house, activities=(), links=(), previous=(), route_openings=()))
    best = None
    for choice in product(*alone):
        stints = tuple(stint for stints in choice for stint in stints)
        if next(placement_rules(Plan(house, stints)), None) is None:
            levels = measured_levels(house, replace(empty, stints=stints))
            best = levels if best is None else min(best, levels)
    return best


@settings(slow, max_examples=25)
@given(tiny_houses())
def test_a_proven_plan_is_the_best_of_all_plans(house):
    solution = plan_of(house)

    assert solution.proven
    assert values(solution) == best_by_trying(house)


# Why not sooner: the reason given must be a rule that breaks one place earlier.


def earlier_place(house, stint):
    """The nearest earlier start in the basic hours; one quarter-hour earlier if there is none."""
    activity = next(a for a in house.activities if a.key == stint.activity)
    basic = set(range(house.horizon))
    for calendar in house.calendars:
        if calendar.key in activity.calendars and calendar.code == "no_working_time":
            basic &= {quarter for window in calendar.windows for quarter in range(*window)}
    length = stint.end - stint.start
    for start in range(stint.start - 1, -1, -1):
        if basic.issuperset(range(start, start + length)):
            return start
    return stint.start - 1


def what_breaks(house, solution, stint, start):
    """Reason codes of the rules that break when one stint moves and nothing else does."""
    moved = replace(stint, start=start, end=start + stint.end - stint.start)
    stints = [moved if other == stint else other for other in solution.stints]
    after = replace(solution, stints=tuple(stints))
    # The levels told belong to the plan as it was.
    broken = {rule for rule in broken_rules(house, after) if rule.rule != "level"}
    own = {"apart": "no_working_time", "origin": "none"}
    return {own.get(rule.rule, rule.code) for rule in broken}


@settings(slow, max_examples=40)
@given(houses())
def test_the_reason_given_is_a_rule_that_breaks_one_place_earlier(house):
    solution = plan_of(house)

    reasons = explain(house, solution, say=str)

    old = house.previous
    fixed = {a.key for a in house.activities if a.fixed is not None}
    assert set(reasons) == {stint for stint in solution.stints if stint.activity not in fixed}
    for stint, reason in reasons.items():
        breaks = what_breaks(house, solution, stint, earlier_place(house, stint))
        if reason.code == "none":
            # It could be sooner, but would no longer be where the last plan had it.
            stays = any((s.activity, s.start) == (stint.activity, stint.start) for s in old)
            assert stint.start == 0 or stays, stint
        else:
            assert reason.code in breaks, (stint, reason, breaks)
            assert reason.sentence
