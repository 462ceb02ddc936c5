"""Houses over HTTP: who opens one, its clock, its region, its quiet hours."""

import pytest

from tests import factories
from tests.api.walk import stranger

AT = "/api/v1/properties/"


def test_who_opens_a_house_becomes_its_owner(db):
    person = stranger()

    made = person.post(AT, {"name": "14 Tidemill Lane"}).json()
    members = person.get("/api/v1/members/", {"property": made["id"]}).json()["results"]

    assert [member["role"] for member in members] == ["owner"]
    assert person.get(f"{AT}{made['id']}/").status_code == 200


def test_a_house_starts_in_england_with_no_quiet_hours(client):
    made = client.post(AT, {"name": "14 Tidemill Lane"}).json()

    assert (made["timezone"], made["country"], made["subdivision"]) == (
        "Europe/London", "GB", "ENG",
    )  # fmt: skip
    assert made["loud_work_hours"] == []


def test_only_ones_own_houses_are_listed(client, house):
    factories.MemberFactory()

    assert [item["id"] for item in client.get(AT).json()["results"]] == [house.pk]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("name", None),
        ("name", "x" * 121),
        ("built_year", 999),
        ("built_year", -1),
        ("built_year", 10**30),
        ("timezone", "Europe/Tidemill"),
        ("timezone", "../../etc/passwd"),
        ("country", "ZZ"),
        ("country", ""),
        ("subdivision", "XYZ"),
        ("loud_work_hours", "by day"),
        ("loud_work_hours", {"from": "08:00"}),
        ("loud_work_hours", [{"weekdays": [7], "from": "08:00", "to": "18:00"}]),
        ("loud_work_hours", [{"weekdays": [True], "from": "08:00", "to": "18:00"}]),
        ("loud_work_hours", [{"weekdays": [0], "from": "18:00", "to": "08:00"}]),
        ("loud_work_hours", [{"weekdays": [0], "from": "08:00", "to": "24:00"}]),
        ("loud_work_hours", [{"weekdays": [0], "from": "08:00+01:00", "to": "18:00"}]),
        ("loud_work_hours", [{"weekdays": [0], "from": 8, "to": 18}]),
        ("outdoor_work_hours", [{"weekdays": [0], "from": "08:00"}]),
        ("latitude_deg", "north"),
    ],
)
def test_what_no_house_can_have_is_refused(client, house, field, value):
    answer = client.patch(f"{AT}{house.pk}/", {field: value})

    house.refresh_from_db()
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"].startswith(f"/{field}") or field == "built_year"
    assert getattr(house, field) != value


def test_a_place_has_both_degrees_and_lies_on_earth(client, house):
    for place in ({"latitude_deg": 53.4}, {"longitude_deg": 1.1},
                  {"latitude_deg": 91.0, "longitude_deg": 1.1}):  # fmt: skip
        answer = client.patch(f"{AT}{house.pk}/", place)
        assert answer.status_code == 400
        assert "degrees north" in answer.json()["errors"][0]["detail"]

    answer = client.patch(f"{AT}{house.pk}/", {"latitude_deg": 53.4, "longitude_deg": 1.1})

    assert (answer.json()["latitude_deg"], answer.json()["longitude_deg"]) == (53.4, 1.1)


def test_quiet_hours_are_kept_as_given(client, house):
    hours = [{"weekdays": [0, 1, 2, 3, 4], "from": "08:00", "to": "18:00"}]

    answer = client.patch(f"{AT}{house.pk}/", {"loud_work_hours": hours})

    assert answer.json()["loud_work_hours"] == hours


def test_a_house_with_rooms_is_not_removed_by_a_slip(client, house):
    factories.RoomFactory(property=house)

    answer = client.delete(f"{AT}{house.pk}/")

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#in-use")
