"""Household routes over HTTP: the ways that must stay walkable."""

import pytest

from tests import factories

AT = "/api/v1/household-routes/"


def body(room, **fields):
    return {"property": room.property_id, "from_room": room.pk, **fields}


def test_a_way_leads_outside_overnight_and_600_mm_wide_when_nothing_else_is_said(client, house):
    room = factories.RoomFactory(property=house)

    made = client.post(AT, body(room)).json()

    assert (made["to_room"], made["width_mm"], made["needed"]) == (None, 600, "overnight")


@pytest.mark.parametrize("width", [299, 2001, 0, -600])
def test_a_way_is_as_wide_as_a_person_walks(client, house, width):
    answer = client.post(AT, body(factories.RoomFactory(property=house), width_mm=width))

    assert answer.status_code == 400
    assert "mm" in answer.json()["detail"] or answer.json()["errors"][0]["pointer"] == "/width_mm"


def test_a_way_leads_somewhere(client, house):
    room = factories.RoomFactory(property=house)

    answer = client.post(AT, body(room, to_room=room.pk))

    assert answer.status_code == 400
    assert "another room, or outside" in answer.json()["detail"]


def test_a_room_on_a_way_is_not_removed(client, house):
    room = factories.RoomFactory(property=house)
    client.post(AT, body(room))

    answer = client.delete(f"/api/v1/rooms/{room.pk}/")

    assert answer.status_code == 409
    assert "household route" in answer.json()["detail"]


def test_ways_are_found_by_what_they_are_needed_for(client, house):
    room = factories.RoomFactory(property=house)
    client.post(AT, body(room))
    always = client.post(AT, body(room, needed="always")).json()

    found = client.get(AT, {"needed": "always", "to_room__isnull": "true"}).json()

    assert [way["id"] for way in found["results"]] == [always["id"]]


def test_a_way_may_name_the_bed_and_the_basin(client, house):
    room = factories.RoomFactory(property=house)

    answer = client.post(
        "/api/v1/household-routes/",
        {"property": house.pk, "from_room": room.pk, "from_point": [600, 600]},
    )

    assert answer.status_code == 201
    assert (answer.json()["from_point"], answer.json()["to_point"]) == ([600, 600], None)


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"from_point": [9000, 600]}, "/from_point"),
        ({"from_point": [600]}, "/from_point"),
        ({"from_point": "by the window"}, "/from_point"),
        ({"to_point": [600, 600]}, "/to_point"),
    ],
)
def test_a_place_outside_its_room_is_refused(client, house, fields, pointer):
    room = factories.RoomFactory(property=house)

    answer = client.post(
        "/api/v1/household-routes/", {"property": house.pk, "from_room": room.pk, **fields}
    )

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == pointer


def test_a_room_does_not_shrink_away_from_the_bed(client, house):
    room = factories.RoomFactory(property=house)
    factories.HouseholdRouteFactory(property=house, from_room=room, from_point=[2500, 3500])

    answer = client.patch(f"/api/v1/rooms/{room.pk}/", {"width_mm": 2000, "length_mm": 2000})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/outline"
