"""Is a place on the floor it is said to be on? The floor is 3 × 4 m, one corner at the origin."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from apps.property.outlines import rectangle
from apps.work.places import area_mm2, lies_in, why_not_on_floor

FLOOR = rectangle(3000, 4000)
ELL = [[0, 0], [4000, 0], [4000, 1000], [1000, 1000], [1000, 4000], [0, 4000], [0, 0]]


def why(place, outline=FLOOR, what="area"):
    return why_not_on_floor(place, outline, what=what, floor="the parlour floor")


@pytest.mark.parametrize(
    "place",
    [
        rectangle(1000, 1000),
        rectangle(3000, 4000),
        rectangle(3600, 4600, (-300, -300)),
        [[-300, 500], [3300, 500]],
        [[100, 100], [200, 200]],
    ],
    ids=["in it", "all of it", "into the walls all round", "wall to wall", "a short run"],
)
def test_a_place_on_the_floor_is_fine(place):
    assert why(place) == ""


def test_a_place_that_runs_far_past_the_floor_is_told_how_far():
    assert why(rectangle(4000, 1000)) == (
        "The area reaches 1000 mm past the outline of the parlour floor."
    )


def test_a_place_in_the_wall_beside_the_floor_is_not_on_it():
    assert why([[3100, 0], [3100, 4000]], what="route") == (
        "The route lies beside the parlour floor, not on it."
    )


def test_the_missing_corner_of_an_angled_floor_is_not_floor():
    assert "reaches 1000 mm past" in why(rectangle(1000, 1000, (1000, 1000)), ELL)


@given(
    st.integers(-500, 4500), st.integers(-500, 4500), st.sampled_from([ELL, FLOOR]),
)  # fmt: skip
def test_inside_agrees_with_shapely_away_from_the_edge(x, y, outline):
    polygon = Polygon(outline)
    if polygon.exterior.distance(Point(x, y)) > 0:
        assert lies_in((x, y), outline) == polygon.contains(Point(x, y))


def test_an_areas_size_is_its_own_and_a_routes_that_of_its_working_width():
    assert area_mm2(ELL, 150) == Polygon(ELL).area
    assert area_mm2([[0, 0], [3000, 0], [3000, 1000]], 150) == 4000 * 300
