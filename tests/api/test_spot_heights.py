"""Spot heights of a floor, and the sheet for levelling it."""

import pytest

from apps.floors.models import SpotHeight
from tests import factories
from tests.api.asking import ago, ahead, refuses
from tests.api.walk import signed_in, viewer_of

HEIGHTS = "/api/v1/spot-heights/"
PACKERS = [{"thickness_mm": mm} for mm in (18, 11, 3)]


def a_floor(house, *pairs, **fields):
    """Joists along y at 400 with a height over both plates each."""
    floor = factories.FloorFactory(property=house)
    for number, pair in enumerate(pairs, start=1):
        joist = factories.JoistFactory(
            floor=floor, mark=f"J{number}", line=[[400 * number, 0], [400 * number, 4000]]
        )
        for at, height, bearing in zip(
            (0, 4000), pair, ("south plate", "north plate"), strict=True
        ):
            spot(joist, at, height, bearing=bearing, **fields)
    return floor


def spot(joist, at_mm, height_mm, **fields):
    values = {"bearing": "", **fields}
    return factories.SpotHeightFactory(joist=joist, at_mm=at_mm, height_mm=height_mm, **values)


def levels(client, floor, **body):
    return client.post(f"/api/v1/floors/{floor.pk}/levels/", {"packers": PACKERS, **body})


def measured(client, floor, **query):
    return client.get(f"/api/v1/floors/{floor.pk}/levels/", query)


def test_the_sheet_says_which_packers_go_where(client, house):
    floor = a_floor(house, ("-21.6", "-3.0"), ("-18.2", "0.4"))

    found = levels(
        client, floor, target="fixed", height_mm=0, packers=[{"thickness_mm": 18},
        {"thickness_mm": 3}],
    ).json()  # fmt: skip

    assert [row["sentence"] for row in found["sheet"]] == [
        "J2 at south plate: 18, error −0.2 mm.",
        "J2 at north plate: no packer, error +0.4 mm.",
        "J1 at south plate: 18 + 3, error −0.6 mm.",
        "J1 at north plate: 3, error 0.0 mm.",
    ]
    assert (found["possible"], found["proven"], found["reached"]) == (True, True, "SR1")
    assert found["sheet"][2]["spot_id"] == SpotHeight.objects.order_by("pk").first().pk
    assert found["packers_used"] == [[18, 2], [3, 2]]


def test_a_free_floor_is_given_a_height(client, house):
    found = levels(client, a_floor(house, (-3, -3), (-14, -3))).json()

    assert (found["height_mm"], found["fixed"]) == (-3.0, False)


def test_what_stands_in_the_way_is_told_with_how_much(client, house):
    found = levels(client, a_floor(house, (-31, 0), (0, 0)), target="fixed", height_mm=0).json()

    assert found["possible"] is False
    assert found["sheet"] == []
    assert {"rule": "stack", "by_mm": 1.0} in [
        {key: row[key] for key in ("rule", "by_mm")} for row in found["broken"]
    ]


def test_settings_are_the_crew_s_own(client, house):
    floor = a_floor(house, (-31, 0), (0, 0))

    found = levels(
        client, floor, target="fixed", height_mm=0, settings={"most_stack_mm": 40}
    ).json()

    assert found["possible"] is True


def test_levels_change_nothing(client, house):
    floor = a_floor(house, (-3, -3))

    levels(client, floor)

    floor.refresh_from_db()
    assert floor.version == 1


def test_the_last_height_of_a_place_stands(client, house):
    floor = a_floor(house, (-3, -3), measured_at=ago(5))
    joist = floor.joists.get()
    again = spot(joist, 0, "-1.5", bearing="south plate", measured_at=ago(1))

    found = measured(client, floor).json()

    assert {row["at_mm"]: row["height_mm"] for row in found["spots"]} == {0: -1.5, 4000: -3.0}
    assert again.pk in [row["id"] for row in found["spots"]]


def test_joists_without_two_heights_over_bearings_are_named(client, house):
    floor = a_floor(house, (-3, -3))
    factories.JoistFactory(floor=floor, mark="J2", line=[[800, 0], [800, 4000]])

    assert measured(client, floor).json()["unmeasured"] == ["J2"]


def test_a_bearing_noted_on_the_joist_is_known_by_its_place(client, house):
    floor = factories.FloorFactory(property=house)
    joist = factories.JoistFactory(
        floor=floor, mark="J1", line=[[0, 0], [0, 4000]],
        bearings=[{"at_mm": 0, "length_mm": 90, "kind": "wall_plate"},
                  {"at_mm": 3910, "length_mm": 90, "kind": "masonry_pocket"}],
    )  # fmt: skip
    spot(joist, 50, -11)
    spot(joist, 3950, 0)

    found = levels(client, floor, target="fixed", height_mm=0).json()

    assert [row["bearing"] for row in found["sheet"]] == [
        "wall plate (0 mm)", "masonry pocket (3910 mm)",
    ]  # fmt: skip
    assert found["sheet"][0]["packers_mm"] == [11]


def test_heights_to_several_data_are_not_mixed(client, house):
    floor = a_floor(house, (-3, -3), datum="laser")
    spot(floor.joists.get(), 2000, 90, datum="hall floor")

    assert refuses(measured(client, floor), "/datum", "hall floor and laser")
    assert refuses(levels(client, floor), "/datum", "hall floor and laser")
    assert len(measured(client, floor, datum="laser").json()["spots"]) == 2
    assert levels(client, floor, datum="laser").status_code == 200
    assert refuses(measured(client, floor, datum="moon"), "/datum", "'moon'")


def test_a_floor_nobody_measured_has_no_levels(client, house):
    floor = factories.FloorFactory(property=house)

    assert measured(client, floor).json() == {"datum": None, "spots": [], "unmeasured": []}
    assert refuses(levels(client, floor), "", "spot heights")


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({"target": "fixed"}, "/height_mm", "to which height"),
        ({"height_mm": 3}, "/height_mm", "takes no height"),
        ({"height_mm": "NaN", "target": "fixed"}, "/height_mm", "valid number"),
        ({"packers": [{"thickness_mm": 0}]}, "/packers/0/thickness_mm", "0.1"),
        ({"packers": [{"thickness_mm": "NaN"}]}, "/packers/0/thickness_mm", "valid number"),
        ({"packers": [{"thickness_mm": 2.05}]}, "", "tenth"),
        ({"packers": [{"thickness_mm": 2}, {"thickness_mm": 2.0}]}, "", "once"),
        ({"packers": [{"thickness_mm": n} for n in range(1, 12)]}, "/packers", "10"),
        ({"flatness": "SR4"}, "/flatness", "SR4"),
        ({"settings": {"most_pieces": 9}}, "/settings", "most_pieces is 0 to 4"),
        ({"settings": {"within_mm": "Infinity"}}, "/settings/within_mm", "valid number"),
        ({"target": "fixed", "height_mm": 900}, "", "differ by more"),
    ],
)
def test_a_question_that_cannot_be_answered_is_refused(client, house, body, pointer, words):
    assert refuses(levels(client, a_floor(house, (-3, -3)), **body), pointer, words)


def body(on, **fields):
    return {
        "floor": on.floor_id, "joist": on.pk, "at_mm": 0, "height_mm": -3.2,
        "measured_at": ago(1).isoformat(), **fields,
    }  # fmt: skip


def test_a_whole_round_with_the_laser_is_noted_at_once(client, house):
    joist = factories.JoistFactory(floor__property=house)

    answer = client.post(HEIGHTS, [body(joist, at_mm=at) for at in (0, 2000, 4000)])

    assert answer.status_code == 201
    assert [row["height_mm"] for row in answer.json()] == [-3.2] * 3


def test_of_a_round_all_is_noted_or_nothing(client, house):
    joist = factories.JoistFactory(floor__property=house)

    answer = client.post(HEIGHTS, [body(joist), body(joist, height_mm=20_001)])

    assert answer.status_code == 400
    assert not SpotHeight.objects.exists()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"joist": None}, "joist and at_mm"),
        ({"at_mm": None}, "joist and at_mm"),
        ({"point": [0, 0]}, "joist and at_mm"),
        ({"at_mm": 4001}, "4000 mm long"),
        ({"height_mm": 3.14}, "1 decimal"),
        ({"height_mm": "Infinity"}, "valid number"),
        ({"datum": ""}, "blank"),
        ({"measured_at": ahead(1).isoformat()}, "yet to happen"),
    ],
)
def test_a_height_that_cannot_be_is_refused(client, house, fields, words):
    joist = factories.JoistFactory(floor__property=house)

    answer = client.post(HEIGHTS, body(joist, **fields))

    assert answer.status_code == 400
    assert any(words in error["detail"] for error in answer.json()["errors"])


def test_a_joist_of_another_floor_is_refused(client, house):
    joist = factories.JoistFactory(floor__property=house)
    other = factories.FloorFactory(property=house)

    assert refuses(client.post(HEIGHTS, body(joist, floor=other.pk)), "/joist", "another floor")


def test_heights_off_the_joists_are_kept_and_not_packed(client, house):
    floor = a_floor(house, (-3, -3))
    answer = client.post(
        HEIGHTS,
        {"floor": floor.pk, "point": [10, 10], "height_mm": 18, "measured_at": ago(1).isoformat()},
    )

    assert answer.status_code == 201
    assert len(measured(client, floor).json()["spots"]) == 3
    assert len(levels(client, floor).json()["sheet"]) == 2


def test_a_viewer_reads_the_heights_and_asks_for_no_sheet(house):
    floor = a_floor(house, (-3, -3))
    viewer = viewer_of(house)

    assert measured(viewer, floor).status_code == 200
    assert levels(viewer, floor).status_code == 403


def test_a_stranger_sees_no_levels(house):
    floor = a_floor(house, (-3, -3))

    assert levels(signed_in(factories.UserFactory()), floor).status_code == 404
