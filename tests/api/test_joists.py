"""Joists over HTTP: what was seen along them."""

import pytest

from tests import factories


def test_decay_along_a_joist_is_noted_in_millimetres(client, house):
    joist = factories.JoistFactory(floor__property=house)

    answer = client.patch(
        f"/api/v1/joists/{joist.pk}/",
        {"condition": "decayed", "decayed": [{"from_mm": 0, "to_mm": 420}]},
    )

    assert answer.status_code == 200
    assert answer.json()["decayed"] == [{"from_mm": 0, "to_mm": 420}]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("decayed", [{"from_mm": 400, "to_mm": 400}]),
        ("decayed", [{"from_mm": 0, "to_mm": 0.5}]),
        ("decayed", [{"from_mm": 0, "to_mm": 1, "why": "wet"}]),
        ("decayed", {"from_mm": 0, "to_mm": 1}),
        ("decayed", ["all"]),
        ("bearings", [{"at_mm": 0, "length_mm": 75, "kind": "air"}]),
        ("bearings", [{"at_mm": 0, "length_mm": 75, "kind": ["wall_plate"]}]),
        ("cuts", [{"kind": "notch", "edge": "top", "at_mm": -1, "size_mm": 1, "depth_mm": 1}]),
        ("cuts", [{"kind": "notch"}] * 101),
        ("line", [[0, 0]]),
        ("line", [[0, 0], [0, 0]]),
        ("line", [[0, 0], [1, 1], [2, 2]]),
        ("line", "along the wall"),
        ("breadth_mm", 0),
        ("depth_mm", True),
        ("condition", "fine"),
        ("mark", ""),
    ],
)
def test_what_no_joist_can_have_is_refused(client, house, field, value):
    joist = factories.JoistFactory(floor__property=house)

    answer = client.patch(f"/api/v1/joists/{joist.pk}/", {field: value})

    joist.refresh_from_db()
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] in {f"/{field}", ""}
    assert joist.version == 1


def test_two_joists_of_a_floor_do_not_share_a_mark(client, house):
    joist = factories.JoistFactory(floor__property=house, mark="J1")

    answer = client.post(
        "/api/v1/joists/",
        {
            "floor": joist.floor_id, "mark": "J1", "line": [[0, 0], [0, 4000]],
            "breadth_mm": 50, "depth_mm": 150,
        },
    )  # fmt: skip

    assert answer.status_code == 400
    assert "already" in answer.json()["detail"]


def test_joists_are_found_by_floor_and_condition(client, house):
    floor = factories.FloorFactory(property=house)
    decayed = factories.JoistFactory(floor=floor, condition="decayed")
    factories.JoistFactory(floor=floor)
    factories.JoistFactory(floor__property=house, condition="missing")

    found = client.get(
        "/api/v1/joists/", {"floor": floor.pk, "condition__in": "decayed,missing"}
    ).json()

    assert [joist["id"] for joist in found["results"]] == [decayed.pk]
