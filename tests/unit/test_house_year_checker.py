"""The checker of house years: a good plan passes, and every rule can be broken."""

from __future__ import annotations

import copy

import pytest

from apps.planning.published.house_year_checker import broken_rules, cost_of, ends_of
from tests.benchmarks.house_year_instances import house_year


def small_house():
    """Two days of evenings, a weekend; one trade on two days; every rule once."""
    return {
        "horizon": 2 * 336,
        "units_a_day": 48,
        "crew_slots": [[36, 40], [84, 88], [258, 272], [306, 320], [372, 376], [420, 424]],
        "trade_days": {"trade0": [1, 2]},
        "visit_hours": [16, 32],
        "tasks": [
            {"id": 0, "by": "crew", "units": 6},
            {"id": 1, "by": "crew", "units": 4, "one_weekend": True},
            {"id": 2, "by": "crew", "units": 3, "unbroken": True, "due": 260, "late_weight": 2},
            {"id": 3, "by": "trade0", "units": 6},
            {"id": 4, "by": "trade0", "units": 4, "fixed_start": 112},
            {"id": 5, "by": "crew", "units": 2},
        ],
        "links": [{"before": 0, "after": 1, "min_lag": 24, "max_lag": 200}],
        "open_floors": [{"opens_with": 0, "closes_with": 1, "not_during": [2]}],
        "jack": {"tasks": [0, 5], "held_units": 240},
    }


GOOD = [36, 258, 262, 64, 112, 306]


def test_a_good_plan_breaks_nothing_and_costs_its_finish_and_lateness():
    house = small_house()
    assert broken_rules(house, GOOD) == []
    assert ends_of(house, GOOD) == [86, 262, 265, 70, 116, 308]
    assert cost_of(house, GOOD) == 308 + 2 * 5


@pytest.mark.parametrize(
    ("task", "start", "said"),
    [
        (0, 35, "starts outside the crew's hours"),
        (5, 422, "task 5 lies outside the year"),
        (1, 84, "not within one weekend"),
        (1, 270, "not within one weekend|starts too soon"),
        (2, 270, "task 2 is broken off"),
        (2, 259, "need the crew"),
        (3, 100, "outside the visiting hours"),
        (3, 160, "not on a day of trade0"),
        (3, 114, "are at once"),
        (4, 118, "is agreed for 112"),
        (1, 96, "too soon"),
        (1, 306, "too long"),
        (2, 86, "while floor 0 is open"),
        (5, 266, "need the jack at once"),
    ],
)
def test_every_rule_is_noticed_when_it_is_broken(task, start, said):
    house, starts = small_house(), list(GOOD)
    starts[task] = start
    if said.startswith("task 5 lies"):
        house["tasks"][5]["units"] = 3
    if (task, start) == (1, 270):
        house["crew_slots"][3] = [350, 364]
    broken = broken_rules(house, starts)
    assert any(part in rule for rule in broken for part in said.split("|"))


def test_a_plan_with_a_start_missing_is_refused():
    assert broken_rules(small_house(), GOOD[:-1]) == ["5 starts for 6 tasks"]


@pytest.mark.parametrize("seed", range(1, 9))
def test_a_seeded_house_has_a_plan_and_notices_when_a_task_moves_to_the_start(seed):
    house, starts = house_year(seed, tasks=60, weeks=14, load=0.5)
    assert broken_rules(house, starts) == []
    moved = copy.copy(starts)
    moved[-1] = starts[0]
    assert broken_rules(house, moved)
