"""The year engine: every rule kept, the bound true, small houses to the optimum."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.problem import (
    Activity,
    Calendar,
    Hold,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
)
from apps.planning.published.house_year import read_house_year
from apps.planning.published.house_year_checker import broken_rules, cost_of, ends_of
from apps.planning.year.bound import bound_of
from apps.planning.year.engine import solve_year
from apps.planning.year.replan import replan
from apps.planning.year.tables import tables_of
from apps.planning.year.windows import improve
from tests.benchmarks.house_year_instances import house_year
from tests.benchmarks.house_year_textbook import textbook

MONDAY = datetime(2024, 1, 1, tzinfo=UTC)
EVENINGS = tuple((day * 10 + 6, day * 10 + 9) for day in range(20))  # three units of ten


def problem(*activities, links=(), spans=(), horizon=200, capacity=1, **more):
    return Problem(
        origin=MONDAY,
        horizon=horizon,
        activities=activities,
        links=tuple(links),
        calendars=(
            Calendar("evenings", "no_working_time", "", EVENINGS),
            Calendar("fridays", "helper_away", "", ((40, 50), (90, 100))),
        ),
        resources=(
            Resource("crew", "crew", "crew", capacity),
            Resource("jack", "jack", "tool"),
        ),
        open_spans=tuple(spans),
        working_calendar="evenings",
        **more,
    )


def work(key, effort, **more):
    given_already = {"uses": ("crew",), "calendars": ("evenings",), "mode": "carried_on"}
    return Activity(key, Ref("task", 1, key), effort, **{**given_already, **more})


def plan(*activities, seconds=0.3, **more):
    chosen = {key: more.pop(key) for key in ("start_from", "free") if key in more}
    return solve_year(problem(*activities, **more), seconds=seconds, workers=1, **chosen)


def test_work_once_begun_goes_on_with_the_next_hours_and_is_cut_into_stints_at_the_breaks():
    answer = plan(work("long", 5))
    assert answer.spans == {"long": (6, 18)}
    assert [(stint.start, stint.end) for stint in answer.stints] == [(6, 9), (16, 18)]
    assert (answer.cost, answer.bound, answer.feasible) == (18, 18, True)


def test_what_may_not_be_broken_off_waits_for_a_window_that_holds_it():
    answer = plan(
        work("short", 1), work("whole", 3, splittable=False), links=[Link("short", "whole")]
    )
    assert answer.spans["whole"] == (16, 19)


def test_what_needs_one_friday_lies_within_one():
    assert plan(work("helped", 3, within="fridays")).spans["helped"] == (46, 49)


def test_hours_of_several_calendars_are_those_they_share():
    both = work("loud", 2, calendars=("evenings", "fridays"))
    assert plan(both).spans["loud"] == (46, 48)


def test_an_elapsed_activity_runs_through_the_night():
    dry = work("dry", 20, mode="elapsed", uses=())
    assert plan(dry).spans["dry"] == (6, 26)


@pytest.mark.parametrize(
    ("kind", "clock", "first_start"),
    [
        ("FS", "elapsed", 16),  # 9 + 4 lies in the day: the next evening
        ("FS", "working", 17),  # four working units after 9: past 16
        ("SS", "elapsed", 16),
        ("FF", "elapsed", 16),
        ("SF", "elapsed", 8),
    ],
)
def test_each_kind_of_link_keeps_its_shortest_wait(kind, clock, first_start):
    lag = 1 if clock == "working" else 4
    answer = plan(
        work("a", 3),
        work("b", 1, uses=()),
        links=[Link("a", "b", kind=kind, min_lag=lag, clock=clock)],
    )
    start, end = answer.spans["b"]
    assert answer.feasible
    assert start == first_start or (kind == "SF" and end >= answer.spans["a"][0] + lag)


def test_the_first_waits_where_the_second_could_not_follow_soon_enough():
    answer = plan(
        work("a", 1),
        work("b", 1, releases=(Release(66, "supply", ""),)),
        links=[Link("a", "b", max_lag=10)],
    )
    assert answer.feasible
    assert answer.spans["b"][0] - answer.spans["a"][1] <= 10


def test_nothing_of_the_excluded_lies_in_an_open_span():
    answer = plan(
        work("lift", 1),
        work("lay", 1, releases=(Release(30, "supply", ""),)),
        work("cross", 2),
        links=[Link("lift", "lay")],
        spans=[OpenSpan("lift", "lay", ("cross",))],
    )
    opened, closed = answer.spans["lift"][0], answer.spans["lay"][1]
    start, end = answer.spans["cross"]
    assert answer.feasible
    assert end <= opened or start >= closed


def test_a_held_tool_is_free_again_only_after_its_least_time():
    held = (Hold("jack", 25),)
    answer = plan(work("one", 1, holds=held), work("two", 1, holds=held))
    first, second = sorted(answer.spans.values())
    assert second[0] >= first[0] + 25
    assert answer.cost == 37  # 6 + 25 is past Monday's and Tuesday's evening: Thursday's first


def test_two_can_work_at_once_where_the_crew_is_two_but_not_three():
    tasks = [work(key, 3) for key in "abc"]
    answer = plan(*tasks, capacity=2)
    assert sorted(answer.spans.values()) == [(6, 9), (6, 9), (16, 19)]


def test_a_demand_of_two_takes_both():
    answer = plan(work("both", 3, demand=(2,)), work("one", 3), capacity=2)
    assert sorted(answer.spans.values()) == [(6, 9), (16, 19)]


def test_what_is_fixed_stays_and_is_worked_round():
    answer = plan(work("agreed", 3, fixed=(6, 9)), work("other", 2))
    assert answer.spans == {"agreed": (6, 9), "other": (16, 18)}


def test_what_finds_no_place_before_the_horizon_is_left_out_and_named():
    answer = plan(work("fits", 3), work("does not", 70), horizon=100)
    assert answer.unplaced == ("does not",)
    assert not answer.feasible
    assert answer.spans == {"fits": (6, 9)}


def test_only_what_is_free_moves():
    answer = plan(
        work("stays", 1), work("moves", 1), start_from={"stays": 27, "moves": 40}, free=["moves"]
    )
    assert answer.spans == {"stays": (27, 28), "moves": (6, 7)}


def test_the_heavier_lateness_goes_first():
    answer = plan(
        work("light", 3, due=9, due_weight=1), work("heavy", 3, due=9, due_weight=5), seconds=0.5
    )
    assert answer.spans == {"heavy": (6, 9), "light": (16, 19)}


def test_the_first_plan_is_told_as_soon_as_it_is_there():
    told = []
    answer = solve_year(problem(work("a", 1)), seconds=0.3, workers=1, on_first=told.append)
    assert [one.spans for one in told] == [answer.spans]
    assert 0 < answer.first_seconds <= answer.seconds


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{\n oops", "Line 2: this is not JSON"),
        ("[]", "one JSON object"),
        ("{}", "lacks 'horizon'"),
    ],
)
def test_a_file_that_makes_no_sense_is_refused_in_a_sentence(text, said):
    with pytest.raises(ValueError, match=said):
        read_house_year(text)


def test_a_link_to_a_task_that_is_not_there_is_named():
    house, _ = house_year(1, tasks=4, weeks=3, load=0.3)
    house["links"] = [{"before": 0, "after": 99, "min_lag": 0}]
    with pytest.raises(ValueError, match="task 99, which is not there"):
        read_house_year(json.dumps(house))


houses = st.builds(
    lambda seed, tasks: house_year(seed, tasks=tasks, weeks=3, load=0.25),
    st.integers(1, 10**6),
    st.integers(3, 6),
)


def exact(house, starts):
    """The proven optimum of a small house, by one window over all of it, from a known plan."""
    t = tables_of(read_house_year(json.dumps(house)))
    at = np.array(list(zip(starts, ends_of(house, starts), strict=True)), np.int64)
    free = [int(i) for i in np.flatnonzero(~t.fixed)]
    if not free:
        return list(starts)
    best = improve(t, at, free, begin=0, end=house["horizon"], seconds=60, seed=1)
    assert best.proven
    assert best.at is not None
    return best.at[:, 0].tolist()


@settings(max_examples=6, deadline=None)
@given(houses)
def test_a_small_house_gets_the_optimum_of_the_textbook_model(made):
    house, starts = made
    ours = exact(house, starts)
    theirs, _, final = textbook(house, seconds=60, workers=1)
    assert final
    assert broken_rules(house, ours) == []
    assert cost_of(house, ours) == cost_of(house, theirs)
    assert bound_of(tables_of(read_house_year(json.dumps(house)))) <= cost_of(house, ours)


@settings(max_examples=5, deadline=None)
@given(houses, st.data())
def test_another_rule_never_makes_the_optimum_cheaper(made, data):
    house, starts = made
    before = cost_of(house, exact(house, starts))
    ends = ends_of(house, starts)
    pairs = [(a, b) for a in range(len(starts)) for b in range(len(starts)) if ends[a] <= starts[b]]
    if pairs:
        a, b = data.draw(st.sampled_from(pairs))
        house["links"].append({"before": a, "after": b, "min_lag": 0})
    assert cost_of(house, exact(house, starts)) >= before


@settings(max_examples=6, deadline=None)
@given(st.integers(1, 10**6), st.integers(20, 60))
def test_every_plan_of_a_random_house_keeps_every_rule_and_costs_no_less_than_the_bound(
    seed, tasks
):
    house, _ = house_year(seed, tasks=tasks, weeks=16, load=0.5)
    answer = solve_year(read_house_year(json.dumps(house)), seconds=0.4, workers=1)
    starts = [answer.spans[str(task["id"])][0] for task in house["tasks"]]
    assert cost_of(house, starts) == answer.cost >= answer.bound
    assert answer.feasible == (broken_rules(house, starts) == [])


def test_after_a_change_what_has_begun_stays_and_the_new_plan_keeps_every_rule():
    house, _ = house_year(5, tasks=80, weeks=16, load=0.6)
    before = solve_year(read_house_year(json.dumps(house)), seconds=0.5, workers=1)
    assert before.feasible
    old = {key: span[0] for key, span in before.spans.items()}
    now = 30 * 48
    longer = next(
        task
        for task in house["tasks"]
        if task["by"] == "crew"
        and old[str(task["id"])] >= now
        and not {"unbroken", "one_weekend"} & set(task)
    )
    longer["units"] += 2
    again = replan(
        read_house_year(json.dumps(house)), old, now=now, weeks=3 * 336, seconds=6, workers=1
    )
    starts = [again.spans[str(task["id"])][0] for task in house["tasks"]]
    assert again.feasible == (broken_rules(house, starts) == [])
    assert again.cost == cost_of(house, starts)
    assert all(old[key] >= now for key in again.moved)
