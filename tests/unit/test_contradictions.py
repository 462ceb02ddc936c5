"""What cannot hold together: the smallest set of rules, held against other ways of telling."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.planning import contradiction_words as words
from apps.planning.complaints import complaints
from apps.planning.contradiction_rules import only, rules_of
from apps.planning.contradictions import Judge, contradictions, thinned
from apps.planning.problem import Activity, Link, Problem, Ref
from tests.strategies import ORIGIN
from tests.unit.plans import DAY, calendar, evenings, link, plan, problem, release, say, task, visit
from tests.unit.test_plans_keep_the_rules import best_by_trying, tiny_houses

CREW = ("crew",)


def found_in(asked):
    made = plan(asked)
    return contradictions(asked, made, complaints(asked, made))


def kinds(found):
    return [rule.kind for rule in found.rules]


def test_drying_that_outlasts_the_time_to_an_agreed_visit_is_a_set_of_four():
    screed, tile = task("Screed", 4, uses=()), task("Tile", 4, uses=())
    fitter = visit("Fitter", 2 * DAY, 2 * DAY + 8)
    other = task("Paint", 4)
    asked = problem(
        screed, tile, fitter, other, links=[link(screed, tile, lag=2 * DAY), link(tile, fitter)]
    )

    (found,) = found_in(asked)

    assert kinds(found) == ["wait", "task", "task", "outsider"]
    assert found.smallest
    sentence = words.sentence(asked, found, say)
    assert sentence.startswith("These cannot all hold: “Fitter” is fixed for day 3 00:00; ")
    assert "2 days must pass from “Screed” to “Tile”" in sentence
    assert "Paint" not in sentence


def test_two_longest_waits_and_a_drying_between_them_contradict_each_other():
    lime, wait, coat = task("Lime", 2, uses=()), task("Size", 2, uses=()), task("Coat", 2, uses=())
    asked = problem(
        lime, wait, coat,
        links=[link(lime, coat, max_lag=8), link(lime, wait, lag=6), link(wait, coat, lag=6)],
    )  # fmt: skip

    (found,) = found_in(asked)

    assert sorted(kinds(found))[:3] == ["longest_wait", "task", "task"]
    assert "“Coat” must follow “Lime” within 2 h" in words.sentence(asked, found, say)


def test_more_work_than_hours_before_a_visit_is_said_in_hours():
    tasks = [task(name, 8, calendars=CREW) for name in ("Ash", "Beech", "Cedar")]
    spare = task("Spare", 8, calendars=CREW)
    plumber = visit("Plumber", 2 * DAY + 32, 2 * DAY + 40)
    asked = problem(
        *tasks, spare, plumber, links=[link(one, plumber) for one in tasks],
        calendars=[calendar("crew", *evenings(5))],
    )  # fmt: skip

    (found,) = found_in(asked)

    assert (found.needed, found.available, found.smallest) == (24, 20, True)
    assert words.sentence(asked, found, say) == (
        "3 tasks (“Ash”, “Beech”, “Cedar”) need 6 h before “Plumber” (day 3 08:00), and there "
        "are 5 h."
    )
    refs = {ref.name for rule in found.rules for ref in words.about(asked, rule)}
    assert refs == {"Ash", "Beech", "Cedar", "Plumber"}


def test_a_delivery_after_the_visit_that_needs_it_is_enough():
    fit = task("Fit", 4, calendars=CREW, releases=(release(3 * DAY),))
    plumber = visit("Plumber", 2 * DAY, 2 * DAY + 8)
    asked = problem(
        fit, plumber, links=[link(fit, plumber)], calendars=[calendar("crew", *evenings(6))]
    )

    (found,) = found_in(asked)

    assert kinds(found) == ["release", "task", "outsider"]
    assert "“Fit” cannot start before day 4 00:00 (The lime comes late)" in words.sentence(
        asked, found, say
    )


def test_two_visits_that_could_each_be_ready_alone_stand_in_each_others_way():
    one, two = task("One", 10, calendars=CREW), task("Two", 10, calendars=CREW)
    first, second = visit("First", DAY, DAY + 8), visit("Second", DAY + 2, DAY + 10)
    asked = problem(
        one, two, first, second, links=[link(one, first), link(two, second)],
        calendars=[calendar("crew", *evenings(6))],
    )  # fmt: skip

    (found,) = found_in(asked)

    assert sorted(kinds(found)) == ["hands", "hours", "outsider", "outsider", "task", "task"]
    assert found.smallest
    assert "Mar can do one thing at a time" in words.sentence(asked, found, say)


def test_a_plan_that_manages_everything_has_no_contradiction():
    lift, plumber = task("Lift", 4), visit("Plumber", DAY, DAY + 8)

    assert found_in(problem(lift, plumber, links=[link(lift, plumber)])) == ()


def test_where_the_planner_cannot_tell_a_rule_stays_and_the_set_is_not_called_smallest():
    undecided = thinned([1, 2, 3], lambda rules: None if 2 not in rules else 3 not in rules)

    assert undecided == ([2, 3], False)


# Waits and lengths alone: against the negative circles that networkx finds.


@st.composite
def networks(draw):
    """Activities of no hours, some fixed, with waits and longest waits between them."""
    count = draw(st.integers(2, 5))
    activities = []
    for n in range(count):
        start, length = draw(st.integers(0, 30)), draw(st.integers(1, 6))
        fixed = (start, start + length) if draw(st.integers(0, 2)) == 0 else None
        activities.append(Activity(f"task:{n}", Ref("task", n, str(n)), length, fixed=fixed))
    pairs = [(a, b) for a in range(count) for b in range(count) if a < b]
    links = []
    for a, b in draw(st.lists(st.sampled_from(pairs), max_size=6)):
        lag = draw(st.integers(-3, 12))
        links.append(
            Link(
                f"task:{a}", f"task:{b}", draw(st.sampled_from(["FS", "SS", "FF", "SF"])), lag,
                draw(st.none() | st.integers(lag, lag + 6)),
            )
        )  # fmt: skip
    return Problem(ORIGIN, 400, tuple(activities), tuple(dict.fromkeys(links)))


def has_negative_circle(asked):
    """Whether t(v) − t(u) ≤ w cannot hold for all: start and end of each, and the origin."""
    graph = nx.DiGraph()

    def at_most(u, v, w):
        if not graph.has_edge(u, v) or graph[u][v]["weight"] > w:
            graph.add_edge(u, v, weight=w)

    for a in asked.activities:
        s, e = (a.key, "S"), (a.key, "F")
        whole = not a.splittable or a.effort < 2 * a.shortest_stint
        at_most(e, s, -a.effort)
        at_most(s, "origin", 0)
        if whole or a.fixed:
            at_most(s, e, a.effort)
        if a.fixed:
            at_most("origin", s, a.fixed[0])
            at_most(s, "origin", -a.fixed[0])
    for one in asked.links:
        u, v = (one.before, one.kind[0]), (one.after, one.kind[1])
        at_most(v, u, -one.min_lag)
        if one.max_lag is not None:
            at_most(u, v, one.max_lag)
    return nx.negative_edge_cycle(graph)


@settings(deadline=None, max_examples=60)
@given(networks())
def test_waits_contradict_each_other_exactly_where_there_is_a_negative_circle(asked):
    found = Judge(asked, 0, [0]).smallest()
    circle = has_negative_circle(asked)

    if found is None:
        assert not circle
        return
    assert circle
    assert found.smallest
    assert has_negative_circle(only(asked, found.rules, now=0))
    for rule in found.rules:
        rest = [other for other in found.rules if other != rule]
        assert not has_negative_circle(only(asked, rest, now=0)), rule


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=12)
@given(tiny_houses())
def test_a_set_found_with_hours_is_contradictory_and_no_rule_of_it_can_be_spared(house):
    """Every plan of a tiny house tried: none keeps the set, one keeps it with a rule less."""
    house = replace(house, previous=(), settled_until=0, route_openings=(), nights=())

    def can_hold(rules):
        return best_by_trying(only(house, rules, now=0))[:2] == [0, 0]

    found = Judge(house, 0, [30]).smallest()

    if found is None:
        return
    assert not can_hold(found.rules)
    if found.smallest:
        for rule in found.rules:
            assert can_hold([other for other in found.rules if other != rule]), rule
    assert set(found.rules) <= set(rules_of(house, now=0))
