"""Doorways over HTTP: they touch the rooms they join."""

import pytest

from tests import factories

AT = "/api/v1/doorways/"


def neighbours(house):
    """Two rooms of 3 × 4 m with a wall of 100 mm between them at x = 3000 to 3100."""
    hall = factories.RoomFactory(property=house, name="Hall")
    parlour = factories.RoomFactory(
        property=house, storey=hall.storey, name="Parlour",
        outline=[[3100, 0], [6100, 0], [6100, 4000], [3100, 4000]],
    )  # fmt: skip
    return hall, parlour


def body(house, hall, parlour, **fields):
    return {
        "property": house.pk, "room_a": hall.pk, "room_b": parlour and parlour.pk,
        "line": [[3050, 1000], [3050, 1800]], **fields,
    }  # fmt: skip


def test_a_doorway_joins_two_rooms(client, house):
    answer = client.post(AT, body(house, *neighbours(house)))

    assert answer.status_code == 201
    assert answer.json()["line"] == [[3050, 1000], [3050, 1800]]


def test_a_doorway_without_a_second_room_leads_outside(client, house):
    hall, _ = neighbours(house)

    answer = client.post(AT, body(house, hall, None))

    assert answer.status_code == 201
    found = client.get(AT, {"room_b__isnull": "true"}).json()["results"]
    assert [doorway["id"] for doorway in found] == [answer.json()["id"]]


def test_a_doorway_touches_both_its_rooms(client, house):
    hall, parlour = neighbours(house)

    answer = client.post(AT, body(house, hall, parlour, line=[[0, 1000], [0, 1800]]))

    assert answer.status_code == 400
    assert answer.json()["errors"] == [
        {"pointer": "/line", "detail": "The doorway does not touch Parlour."}
    ]


def test_a_doorway_does_not_lead_to_another_storey(client, house):
    hall, _ = neighbours(house)
    above = factories.RoomFactory(
        property=house, storey=factories.StoreyFactory(property=house, level=1)
    )

    answer = client.post(AT, body(house, hall, above))

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/room_b"


def test_a_doorway_joins_two_different_rooms(client, house):
    hall, _ = neighbours(house)

    answer = client.post(AT, body(house, hall, hall))

    assert answer.status_code == 400
    assert "two different rooms" in answer.json()["detail"]


def test_a_room_does_not_change_its_storey_away_from_its_doorway(client, house):
    hall, parlour = neighbours(house)
    client.post(AT, body(house, hall, parlour))
    above = factories.StoreyFactory(property=house, level=1)

    answer = client.patch(f"/api/v1/rooms/{parlour.pk}/", {"storey": above.pk})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/storey"


@pytest.mark.parametrize(
    "line",
    [None, [], [[0, 0]], [[0, 0], [0, 0]], [[0, 0], [1, 1], [2, 2]], [[0, 0], [0.5, 1]],
     [["0", "0"], ["1", "1"]], "here", {"from": [0, 0]}, [[0, 0], [2_000_000, 0]]],
)  # fmt: skip
def test_a_line_is_two_different_points(client, house, line):
    answer = client.post(AT, body(house, *neighbours(house), line=line))

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/line"


def test_rooms_of_two_houses_are_not_joined(client, house):
    hall, _ = neighbours(house)
    second = factories.MemberFactory(user=house.owner, role="owner").property
    elsewhere = factories.RoomFactory(property=second)

    answer = client.post(AT, body(house, hall, elsewhere))

    assert answer.status_code == 400
    assert "another house" in answer.json()["detail"]
