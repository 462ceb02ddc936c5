"""Runs of plans: the plan itself without spread, and minute by minute with it."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from apps.planning.generator import generate
from apps.planning.sampler import run
from apps.planning.solver import solve
from tests.busy_houses import busy_house
from tests.plan_followed import NEVER, Followed
from tests.strategies import houses

RUNS = 20
quick = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def generated(house):
    return generate(house, [a.key for a in house.activities if a.fixed is None])


def assert_is_the_plan(house, plan):
    as_planned = {a.key: np.full(2, a.effort * 15) for a in house.activities if a.fixed is None}

    runs = run(house, plan, as_planned, 2)

    assert len(runs.stints) == len(plan.stints)
    for stint, starts, ends in runs.stints:
        assert starts.tolist() == [stint.start * 15] * 2, stint
        assert ends.tolist() == [stint.end * 15] * 2, stint


@settings(quick, max_examples=30)
@given(houses())
def test_without_spread_a_run_is_the_solved_plan_stint_for_stint(house):
    assert_is_the_plan(house, solve(house, deterministic_seconds=0.2))


def test_without_spread_a_run_is_the_generated_plan_stint_for_stint():
    for seed in range(60):
        house = busy_house(seed)
        assert_is_the_plan(house, generated(house))


def own_waits(runs):
    """Where the plan waits though nothing makes it wait, by activity and number of its stint."""
    numbers = {}
    for n, (stint, _, _) in enumerate(runs.stints):
        numbers.setdefault(stint.activity, []).append(n)
    return {
        (key, own.index(n)): runs.waits[n]
        for key, own in numbers.items()
        for n in own
        if n in runs.waits
    }


@pytest.mark.parametrize("seeds", [range(15), range(15, 30)])
def test_a_run_is_what_the_words_say_minute_by_minute(seeds):
    for seed in seeds:
        house = busy_house(seed)
        plan = generated(house)
        luck = np.random.default_rng(seed)
        work = {
            a.key: np.maximum(1, luck.integers(a.effort * 6, a.effort * 30, RUNS))
            for a in house.activities
            if a.fixed is None
        }

        runs = run(house, plan, work, RUNS)

        waits, hours = own_waits(runs), {}
        for n in range(RUNS):
            slow = Followed(house, plan, {key: int(w[n]) for key, w in work.items()}, waits, hours)
            slow.go()
            fast = {key: (runs.starts[key][n], runs.ends[key][n]) for key in slow.plan}
            assert {
                key: (min(int(a), NEVER), min(int(b), NEVER)) for key, (a, b) in fast.items()
            } == {key: (min(slow.starts[key], NEVER), min(slow.ends[key], NEVER)) for key in fast}
