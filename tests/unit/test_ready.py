"""The table of ready packages."""

from graphlib import TopologicalSorter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.work.ready import DAY_MINUTES, READY, Effort, at_ones_own_pace

packages = pytest.mark.parametrize("kind", sorted(READY))


@packages
def test_a_packages_links_have_every_task_wait_for_the_one_before(kind):
    package = READY[kind]
    graph = {task.step: set() for task in package.tasks}
    for link in package.all_links():
        graph[link.after].add(link.before)

    order = list(TopologicalSorter(graph).static_order())

    assert order == [task.step for task in package.tasks]


@packages
def test_what_is_lifted_is_fixed_again_last(kind):
    actions = [task.floor_action for task in READY[kind].tasks if task.floor_action != "none"]

    assert actions == [] or (actions[0], actions[-1]) == ("lift", "fix")
    assert set(actions[1:-1]) <= {"work_open"}


@packages
def test_a_package_says_that_its_durations_have_no_source(kind):
    assert "common practice, no source" in READY[kind].note


def test_preservative_dries_before_it_is_covered():
    drying = [link for link in READY["floor_repair"].all_links() if link.min_lag_minutes]

    assert [(link.before, link.after, link.min_lag_minutes) for link in drying] == [
        ("treat", "relay", 2 * DAY_MINUTES)
    ]


def test_minutes_grow_with_the_area_in_quarters_of_an_hour():
    lifting = Effort(30, 25)

    assert lifting.low_likely_high(2) == (60, 90, 120)
    assert lifting.low_likely_high(0) == (30, 30, 45)


@given(st.integers(1, 300), st.integers(0, 60), st.floats(0, 200))
def test_low_is_never_above_likely_nor_likely_above_high(minutes, per_m2, area_m2):
    low, likely, high = Effort(minutes, per_m2).low_likely_high(area_m2)

    assert 0 < low <= likely <= high
    assert likely >= minutes + per_m2 * area_m2 - 1e-4


def test_at_ones_own_pace_the_good_and_the_bad_day_keep_their_proportion():
    assert at_ones_own_pace((75, 90, 135), 180) == (150, 180, 270)


@given(st.integers(1, 500), st.integers(0, 500), st.integers(0, 500), st.integers(1, 5000))
def test_at_ones_own_pace_minutes_stay_in_order(low, more, most, likely):
    found = at_ones_own_pace((low, low + more, low + more + most), likely)

    assert 1 <= found[0] <= found[1] <= found[2]
    assert found[1] == likely
