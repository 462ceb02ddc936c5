"""The smallest set that hits every group, against trying every set."""

from itertools import combinations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.hitting import TooMany, smallest_hitting_set


def mask(*members):
    return sum(1 << member for member in members)


def test_nothing_to_hit_needs_nothing():
    assert smallest_hitting_set([]) == 0


def test_one_member_common_to_all_groups_is_enough():
    assert smallest_hitting_set([mask(0, 3), mask(3, 5), mask(1, 3)]) == mask(3)


def test_of_equally_small_sets_the_first_in_order_is_taken():
    assert smallest_hitting_set([mask(2, 4), mask(5, 6)]) == mask(2, 5)


def test_a_group_nothing_can_hit_is_refused():
    with pytest.raises(ValueError, match="cannot be hit"):
        smallest_hitting_set([mask(1), 0])


def test_what_would_take_too_long_to_find_is_given_up():
    chance = Random(1)
    groups = [mask(*chance.sample(range(200), 12)) for _ in range(150)]

    with pytest.raises(TooMany):
        smallest_hitting_set(groups)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.integers(1, 2**9 - 1), max_size=12))
def test_no_smaller_or_earlier_set_hits_all_groups(groups):
    found = smallest_hitting_set(groups)

    members = tuple(bit for bit in range(9) if found >> bit & 1)
    first = next(
        chosen
        for size in range(10)
        for chosen in combinations(range(9), size)
        if all(mask(*chosen) & group for group in groups)
    )
    assert members == first
