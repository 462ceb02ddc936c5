"""L-shaped rooms by hand and by property: made, read back, and asked whether they overlap."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.property.l_shapes import (
    CORNERS,
    boxes_of,
    cut_of,
    is_rectangle,
    less_a_corner,
    overlap,
)
from apps.property.outlines import rectangle, twice_signed_area

SIDE = st.integers(2, 20_000)
AT = st.integers(-50_000, 50_000)


@st.composite
def ls(draw):
    width, length = draw(SIDE), draw(SIDE)
    cut = draw(st.integers(1, width - 1)), draw(st.integers(1, length - 1))
    return width, length, cut, draw(st.sampled_from(CORNERS)), (draw(AT), draw(AT))


def area_mm2(ring):
    return twice_signed_area([(x, y) for x, y in ring[:-1]]) // 2


def test_an_l_by_hand_goes_round_its_missing_corner():
    assert less_a_corner(4000, 5000, (1000, 1500), "top_left", (10, 20)) == [
        [10, 20], [4010, 20], [4010, 5020], [1010, 5020], [1010, 3520], [10, 3520], [10, 20],
    ]  # fmt: skip


@given(ls())
def test_an_l_has_the_area_of_its_rectangle_less_its_corner_and_is_read_back(shape):
    width, length, cut, missing, corner = shape
    ring = less_a_corner(width, length, cut, missing, corner)

    assert area_mm2(ring) == width * length - cut[0] * cut[1]
    assert cut_of(ring) == (cut, missing)
    assert not is_rectangle(ring)


@given(ls())
def test_the_boxes_of_an_l_cover_it_once(shape):
    width, length, cut, missing, corner = shape
    boxes = boxes_of(less_a_corner(width, length, cut, missing, corner))

    assert sum((c - a) * (d - b) for a, b, c, d in boxes) == width * length - cut[0] * cut[1]


@given(ls())
def test_what_fills_the_missing_corner_lies_beside_the_l_and_a_millimetre_more_lies_over_it(shape):
    width, length, cut, missing, (x, y) = shape
    ring = less_a_corner(width, length, cut, missing, (x, y))
    left = x if missing.endswith("left") else x + width - cut[0]
    low = y if missing.startswith("bottom") else y + length - cut[1]

    assert not overlap(ring, rectangle(*cut, (left, low)))
    assert overlap(ring, rectangle(cut[0] + 2, cut[1] + 2, (left - 1, low - 1)))


@pytest.mark.parametrize("cut", [(4000, 100), (100, 5000), (0, 100), (100, 0), (5000, 6000)])
def test_a_corner_as_large_as_the_room_is_refused(cut):
    with pytest.raises(ValueError, match="smaller than the room"):
        less_a_corner(4000, 5000, cut, "top_left")


def test_other_shapes_are_no_l_and_are_asked_by_their_corners():
    bay = [[0, 0], [3000, 0], [4000, 3000], [0, 3000], [0, 0]]

    assert cut_of(bay) is None
    assert overlap(bay, rectangle(500, 500, (1000, 1000)))
    assert not overlap(bay, rectangle(500, 500, (4100, 0)))
