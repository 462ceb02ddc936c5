"""Air bricks of a floor, and whether the void under it is aired."""

import pytest

from apps.property.outlines import rectangle
from tests import factories
from tests.api.asking import is_problem, refuses
from tests.api.walk import viewer_of


def big_floor(house, **fields):
    """A floor of 8 × 6 m over a void 300 mm high."""
    values = {"outline": rectangle(8000, 6000), "void_depth_mm": 300, **fields}
    return factories.FloorFactory(property=house, **values)


def air(client, floor, **query):
    return client.get(f"/api/v1/floors/{floor.pk}/subfloor-ventilation/", query)


def brick(floor, *at, area=12_000, **fields):
    return factories.AirBrickFactory(floor=floor, at=list(at), free_area_mm2=area, **fields)


def test_enough_in_two_opposite_walls_passes(client, house):
    floor = big_floor(house)
    brick(floor, 4000, 0)
    brick(floor, 4000, 6000)

    answer = air(client, floor)

    assert answer.status_code == 200
    assert answer.json()["outcome"]["passes"] is True
    assert answer.json()["required_mm2"] == answer.json()["provided_mm2"] == 24_000
    assert answer.json()["outcome"]["cautions"]


def test_a_blocked_one_is_named_as_the_first_to_clear(client, house):
    floor = big_floor(house)
    brick(floor, 4000, 0)
    shut = brick(floor, 4000, 6000, state="blocked", mark="A2")

    found = air(client, floor).json()

    assert found["outcome"]["passes"] is False
    assert [row["to_clear"] for row in found["sides"]] == [[], [shut.pk]]
    assert "Air brick A2 counts for nothing: it is blocked." in [
        note["sentence"] for note in found["not_counted"]
    ]


def test_a_solid_floor_beside_it_hides_the_wall(client, house):
    floor = big_floor(house)
    brick(floor, 4000, 0)
    brick(floor, 4000, 6000)
    factories.FloorFactory(
        property=house, construction="solid", outline=rectangle(8000, 3000, (0, 6300))
    )

    found = air(client, floor).json()

    assert found["outcome"]["passes"] is False
    assert [row["pipes"] for row in found["sides"]] == [0, 2]


def test_a_floor_of_another_storey_hides_nothing(client, house):
    floor = big_floor(house)
    brick(floor, 4000, 0)
    brick(floor, 4000, 6000)
    upstairs = factories.StoreyFactory(property=house, level=1)
    factories.FloorFactory(
        property=house, storey=upstairs, construction="solid",
        outline=rectangle(8000, 3000, (0, 6300)),
    )  # fmt: skip

    assert air(client, floor).json()["outcome"]["passes"] is True


def test_party_walls_and_the_reading_are_named_in_the_question(client, house):
    floor = big_floor(house)

    terrace = air(client, floor, inside="1,3").json()
    strict = air(client, floor, reading="all_outer_walls").json()

    assert [row["walls"] for row in terrace["sides"]] == [["wall 2"], ["wall 4"]]
    assert strict["required_mm2"] == 42_000


@pytest.mark.parametrize(
    ("query", "pointer", "words"),
    [
        ({"reading": "loose"}, "/reading", "none of"),
        ({"inside": "5"}, "/inside", "walls 1 to 4"),
        ({"inside": "x"}, "/inside", "whole numbers"),
        ({"rooms": "1"}, "/rooms", "no query parameter"),
    ],
)
def test_a_question_it_does_not_know_is_refused(client, house, query, pointer, words):
    assert refuses(air(client, big_floor(house), **query), pointer, words)


def test_a_solid_floor_has_no_void(client, house):
    assert is_problem(air(client, big_floor(house, construction="solid")), 409, "floor-is-solid")


def test_a_floor_upstairs_has_no_void_over_the_ground(client, house):
    upstairs = factories.StoreyFactory(property=house, level=1, name="First floor")

    answer = air(client, big_floor(house, storey=upstairs))

    assert is_problem(answer, 409, "floor-has-no-void")
    assert "First floor" in answer.json()["detail"]


def test_an_air_brick_the_outline_has_left_is_told(client, house):
    floor = big_floor(house)
    brick(floor, 4000, 6000, mark="A7")
    floor.change(outline=rectangle(8000, 3000))

    answer = air(client, floor)

    assert is_problem(answer, 409, "air-brick-off-floor")
    assert "A7" in answer.json()["detail"]


def post(client, floor, **fields):
    body = {"floor": floor.pk, "at": [4000, 0], "free_area_mm2": 6000, **fields}
    return client.post("/api/v1/air-bricks/", body)


@pytest.mark.parametrize(
    ("fields", "pointer", "words"),
    [
        ({"at": [4000, 3000]}, "/at", "within 600 mm"),
        ({"at": [4000]}, "/at", "x, y"),
        ({"free_area_mm2": 0}, "", "grille"),
        ({"above_ground_mm": 10_001}, "", "above the ground"),
        ({"state": "rusty"}, "/state", "rusty"),
    ],
)
def test_an_air_brick_that_cannot_be_is_refused(client, house, fields, pointer, words):
    answer = post(client, big_floor(house), **fields)

    assert answer.status_code == 400
    assert any(words in error["detail"] for error in answer.json()["errors"])
    assert not pointer or refuses(answer, pointer, words)


def test_a_mark_is_once_per_floor_and_may_be_left_out(client, house):
    floor = big_floor(house)

    assert [post(client, floor, mark=mark).status_code for mark in ("A1", "", "", "A1")] == [
        201, 201, 201, 400,
    ]  # fmt: skip


def test_a_viewer_sees_the_air_and_adds_no_brick(house):
    floor = big_floor(house)
    viewer = viewer_of(house)

    assert air(viewer, floor).status_code == 200
    assert post(viewer, floor).status_code == 403
