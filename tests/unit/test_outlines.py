"""Outlines of rooms, floors and boards. Judged beside shapely, which is another's geometry."""

from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point as ShapelyPoint
from shapely import Polygon
from shapely.validation import explain_validity

from apps.property.outlines import (
    MOST_POINTS,
    as_points,
    closed_ring,
    distance_to_outline_mm,
    inside,
    rectangle,
    twice_signed_area,
)

# Small coordinates, so that corners often fall on sides and sides on each other.
close = st.tuples(st.integers(0, 6), st.integers(0, 6))
wide = st.tuples(st.integers(-(10**6), 10**6), st.integers(-(10**6), 10**6))
corners = st.lists(close, min_size=3, max_size=8, unique=True) | st.lists(
    wide, min_size=3, max_size=8, unique=True
)
sizes = st.integers(1, 50_000)


def is_accepted(points):
    try:
        closed_ring([list(point) for point in points])
    except ValueError:
        return False
    return True


@given(corners)
def test_an_outline_is_accepted_when_shapely_finds_it_valid_and_only_then(points):
    accepted = is_accepted(points)

    assert accepted == Polygon(points).is_valid, explain_validity(Polygon(points))


@given(corners.filter(is_accepted))
def test_an_accepted_outline_is_closed_and_counter_clockwise_and_the_same_shape(points):
    ring = closed_ring([list(point) for point in points])

    assert ring[0] == ring[-1]
    assert Polygon(ring).exterior.is_ccw
    assert Polygon(ring).equals(Polygon(points))
    assert twice_signed_area([(x, y) for x, y in ring[:-1]]) == 2 * Polygon(points).area


@given(corners.filter(is_accepted))
def test_the_normal_form_of_the_normal_form_is_itself(points):
    ring = closed_ring([list(point) for point in points])

    assert closed_ring(ring) == ring
    assert closed_ring(list(reversed(ring))) == [ring[0], *ring[1:-1], ring[0]]


@given(corners.filter(is_accepted), wide)
def test_the_distance_to_an_outline_is_shapelys(points, place):
    ring = closed_ring([list(point) for point in points])

    ours = distance_to_outline_mm(place, ring)

    assert isclose(ours, Polygon(ring).exterior.distance(ShapelyPoint(place)), abs_tol=1e-6)


@given(sizes, sizes, wide.filter(lambda at: max(abs(at[0]), abs(at[1])) < 900_000))
def test_a_rectangle_has_the_area_of_its_sides(width, length, corner):
    ring = rectangle(width, length, corner)

    assert Polygon(ring).area == width * length
    assert Polygon(ring).bounds[:2] == corner


@pytest.mark.parametrize(
    ("value", "complaint"),
    [
        ([[0, 0], [1000, 1000], [1000, 0], [0, 1000]], "crosses itself"),
        ([[0, 0], [1000, 0], [2000, 0]], "crosses itself"),
        ([[0, 0], [2000, 0], [1000, 0], [1000, 1000]], "crosses itself"),
        ([[0, 0], [1000, 0], [1000, 1000], [1000, 0]], "only once"),
        ([[0, 0], [1000, 0], [0, 0]], "three different corners"),
        ([[0, 0], [1000, 0]], "3 to 200 points"),
        ([[0, 0], [1000, 0], [0, 1.5]], "whole millimetres"),
        ([[0, 0], [1000, 0], [0, True]], "whole millimetres"),
        ([[0, 0], [1000, 0], [0, 1_000_001]], "farther than 1 km"),
        ([[0, 0], [1000, 0], [0]], "whole millimetres"),
        ([[0, 0, 0], [1000, 0, 0], [0, 1, 0]], "whole millimetres"),
        ("a square room", "whole millimetres"),
        ({"x": 1}, "whole millimetres"),
        (None, "whole millimetres"),
        ([[n, n * n] for n in range(MOST_POINTS + 1)], "3 to 200 points"),
    ],
)
def test_what_is_no_outline_is_refused_with_a_sentence(value, complaint):
    with pytest.raises(ValueError, match=complaint):
        closed_ring(value)


def test_a_point_list_says_what_it_is_of():
    with pytest.raises(ValueError, match="Give a route as"):
        as_points("along the wall", at_least=2, what="a route")


@given(st.integers(-50, 350), st.integers(-50, 350))
def test_a_point_is_inside_where_shapely_says_so(x, y):
    ring = closed_ring([[0, 0], [300, 0], [300, 100], [100, 100], [100, 300], [0, 300]])

    assert inside((x, y), ring) == Polygon(ring).covers(ShapelyPoint(x, y))
