"""The pricing table against looking at every pattern."""

from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.cutting.knapsack import REACHED, Table

ENTRIES = st.lists(
    st.tuples(st.integers(1, 9), st.integers(0, 4), st.integers(0, 50)), min_size=1, max_size=4
)


def every_pattern(entries, room):
    """(position, value) of every pattern that fits."""
    for counts in product(*(range(copies + 1) for _, copies, _ in entries)):
        position = sum(n * size for n, (size, _, _) in zip(counts, entries, strict=True))
        if position <= room:
            yield position, sum(n * worth for n, (_, _, worth) in zip(counts, entries, strict=True))


def filled(entries, room, *, exact):
    sizes, copies, worth = zip(*entries, strict=True)
    table = Table(sizes, copies, room, exact=exact)
    table.fill(np.array(worth, dtype=np.int64))
    return table


@settings(max_examples=60, deadline=None)
@given(entries=ENTRIES, room=st.integers(1, 25))
def test_every_position_has_the_best_value_up_to_it(entries, room):
    table = filled(entries, room, exact=False)
    patterns = list(every_pattern(entries, room))
    for position in range(room + 1):
        best = max(value for end, value in patterns if end <= position)
        assert table.last()[position] == best


@settings(max_examples=60, deadline=None)
@given(entries=ENTRIES, room=st.integers(1, 25))
def test_with_exact_a_position_means_filled_to_here(entries, room):
    table = filled(entries, room, exact=True)
    patterns = list(every_pattern(entries, room))
    for position in range(room + 1):
        ends = [value for end, value in patterns if end == position]
        reached = table.last()[position]
        assert (reached > REACHED) == bool(ends)
        assert not ends or reached == max(ends)


@settings(max_examples=60, deadline=None)
@given(entries=ENTRIES, room=st.integers(1, 25), exact=st.booleans())
def test_the_pattern_behind_a_cell_fits_and_has_its_value(entries, room, exact):
    table = filled(entries, room, exact=exact)
    for position in range(room + 1):
        value = int(table.last()[position])
        if value > REACHED:
            pattern = table.pattern(len(table.item), position)
            end = sum(copies * entries[item][0] for item, copies in pattern)
            assert end == position if exact else end <= position
            assert sum(copies * entries[item][2] for item, copies in pattern) == value
            assert all(copies <= entries[item][1] for item, copies in pattern)


@settings(max_examples=60, deadline=None)
@given(entries=ENTRIES, room=st.integers(1, 25), above=st.integers(0, 60))
def test_many_patterns_are_different_and_worth_more_than_asked(entries, room, above):
    table = filled(entries, room, exact=False)
    found = table.many(room, above, 10)
    assert len(set(found)) == len(found) <= 10
    for pattern in found:
        assert sum(copies * entries[item][2] for item, copies in pattern) > above
        assert sum(copies * entries[item][0] for item, copies in pattern) <= room
    if max(value for _, value in every_pattern(entries, room)) > above:
        assert found
