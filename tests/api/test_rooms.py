"""Rooms over HTTP."""

from tests import factories


def test_a_room_is_made_from_its_width_and_length(client, house):
    storey = factories.StoreyFactory(property=house)

    answer = client.post(
        "/api/v1/rooms/",
        {
            "property": house.pk,
            "storey": storey.pk,
            "name": "Back parlour",
            "width_mm": 3600,
            "length_mm": 4200,
        },
    )

    assert answer.status_code == 201
    assert answer["ETag"] == '"1"'
    assert answer.json()["outline"] == [[0, 0], [3600, 0], [3600, 4200], [0, 4200], [0, 0]]


def test_an_outline_that_crosses_itself_is_refused_with_a_pointer(client, house):
    storey = factories.StoreyFactory(property=house)

    answer = client.post(
        "/api/v1/rooms/",
        {
            "property": house.pk,
            "storey": storey.pk,
            "name": "Bow tie",
            "outline": [[0, 0], [1000, 1000], [1000, 0], [0, 1000]],
        },
    )

    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["errors"][0]["pointer"] == "/outline"
    assert "crosses itself" in answer.json()["detail"]


def test_a_room_cannot_leave_its_doorway_behind(client, house):
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room)

    answer = client.patch(f"/api/v1/rooms/{room.pk}/", {"width_mm": 1200, "length_mm": 1200})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/outline"


def test_an_outline_is_checked_by_the_database_itself(house):
    import pytest
    from django.core.exceptions import ValidationError

    from apps.property.models import Room

    room = factories.RoomFactory(property=house)

    with pytest.raises(ValidationError):
        Room.objects.filter(pk=room.pk).update(outline=[[0, 0], [1, 1]])


def test_a_room_that_changes_its_size_stays_where_it_is(client, house):
    room = factories.RoomFactory(
        property=house, outline=[[5000, 2000], [8000, 2000], [8000, 6000], [5000, 6000]]
    )

    answer = client.patch(f"/api/v1/rooms/{room.pk}/", {"width_mm": 3200, "length_mm": 4000})

    assert answer.json()["outline"][:2] == [[5000, 2000], [8200, 2000]]


def test_width_and_length_come_together(client, house):
    room = factories.RoomFactory(property=house)

    answers = [
        client.patch(f"/api/v1/rooms/{room.pk}/", body)
        for body in ({"width_mm": 3200}, {"length_mm": 3200}, {"corner": [1, 1]})
    ]

    assert [answer.status_code for answer in answers] == [400, 400, 400]
    assert [answer.json()["errors"][0]["pointer"] for answer in answers] == [
        "/length_mm", "/width_mm", "/width_mm",
    ]  # fmt: skip
