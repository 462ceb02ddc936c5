"""Large tables lie in one memory, one at a time; what comes out is the same."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from apps.timber.cutting import pricing
from apps.timber.cutting.knapsack import Table, cells_of
from apps.timber.cutting.solver import solve_cutting
from tests.unit.cutting_stories import problems


@given(problems())
@settings(max_examples=15, deadline=None)
def test_a_plan_is_as_good_with_shared_tables(problem):
    own = solve_cutting(problem, seconds=5)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pricing, "SHARE_FROM", 0)
        shared = solve_cutting(problem, seconds=5)

    assert own.proven
    assert shared.proven
    assert [level.value for level in shared.levels] == [level.value for level in own.levels]


@pytest.mark.parametrize(
    ("sizes", "copies", "room"),
    [
        ([3, 5], [1, 1], 10),
        ([3], [7], 30),
        ([4], [9], 9),
        ([4, 6, 9], [2, 5, 13], 100),
        ([9], [1], 5),
    ],
)
def test_the_size_of_a_table_is_known_before_it_is_made(sizes, copies, room):
    assert cells_of(sizes, copies, room) == Table(sizes, copies, room).best.size
