"""Storeys over HTTP."""

import pytest

from tests import factories

AT = "/api/v1/storeys/"


def test_a_house_has_one_storey_at_each_level(client, house):
    factories.StoreyFactory(property=house, level=1)

    answer = client.post(AT, {"property": house.pk, "name": "First floor", "level": 1})

    assert answer.status_code == 400
    assert "storey at this level already" in answer.json()["detail"]


def test_two_houses_may_each_have_a_ground_floor(client, house):
    factories.StoreyFactory(level=0)

    assert client.post(AT, {"property": house.pk, "name": "Ground floor"}).status_code == 201


@pytest.mark.parametrize("level", [40_000, -40_000, 1.5, "first", None, True])
def test_a_level_is_a_small_whole_number(client, house, level):
    answer = client.post(AT, {"property": house.pk, "name": "Loft", "level": level})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/level"


def test_storeys_are_listed_from_the_cellar_up(client, house):
    for level in (1, -1, 0):
        factories.StoreyFactory(property=house, level=level)

    listed = client.get(AT, {"property": house.pk}).json()["results"]

    assert [storey["level"] for storey in listed] == [-1, 0, 1]


def test_a_storey_with_rooms_is_not_removed(client, house):
    room = factories.RoomFactory(property=house)

    answer = client.delete(f"{AT}{room.storey_id}/")

    assert answer.status_code == 409
    assert "room" in answer.json()["detail"]
