"""Sizes of a room on one line, as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.pages.typed_sizes import typed_size_mm


@pytest.mark.parametrize(
    ("written", "size"),
    [
        ("3.62m x 4.1m", (3620, 4100)),
        ("3620 x 4100", (3620, 4100)),
        ("11'10\" x 9'", (3607, 2743)),
        ("362cm by 4,1 m", (3620, 4100)),
        ("3620×4100mm", (3620, 4100)),
    ],
)
def test_a_size_is_read_in_metric_and_in_feet(written, size):
    assert typed_size_mm(written) == size


@pytest.mark.parametrize("written", ["", "3620", "3 x 4 x 5", "0 x 4100", "x", "three by four"])
def test_what_is_no_size_is_refused_with_a_sentence(written):
    with pytest.raises(ValueError, match="Write"):
        typed_size_mm(written)


@settings(max_examples=60)
@given(st.integers(1, 99_999), st.integers(1, 99_999), st.sampled_from(["x", " x ", " by ", "×"]))
def test_millimetres_come_back_as_written(width, length, between):
    assert typed_size_mm(f"{width}{between}{length}") == (width, length)
    metres = f"{width // 1000}.{width % 1000:03}m{between}{length // 1000}.{length % 1000:03}m"
    assert typed_size_mm(metres) == (width, length)
