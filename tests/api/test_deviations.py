"""Deviations over HTTP: drafted, put, decided by a sign-off or a letter, and offered."""

import pytest

from apps.inspections.models import Deviation
from tests import factories
from tests.api.asking import ago, ids, is_problem, queries_of_list, refuses
from tests.api.walk import another_house_of, viewer_of

DEVIATIONS = "/api/v1/deviations/"


def deviation(house, **fields):
    return factories.DeviationFactory(property=house, **fields)


def sign_off(house, **fields):
    inspection = factories.InspectionFactory(property=house)
    return factories.SignOffFactory(inspection=inspection, recorded_by=house.owner, **fields)


def letter(house):
    return factories.EvidenceFactory(property=house, kind="document", uploaded_by=house.owner)


def post(client, row, step, **body):
    return client.post(f"{DEVIATIONS}{row.pk}/{step}/", body)


def offered(client, house, **more):
    return client.get(f"{DEVIATIONS}offered/", {"property": house.pk, **more})


def test_a_deviation_is_drafted_with_the_check_that_supports_it(client, house):
    joist = factories.JoistFactory(floor__property=house)
    check = {"passes": True, "utilisation": {"bending": 0.81}}

    answer = client.post(
        DEVIATIONS,
        {
            "property": house.pk, "joist": joist.pk, "floor": joist.floor_id,
            "specified": "50 × 150 mm C16", "built": "47 × 150 mm C24", "check_result": check,
        },
    )  # fmt: skip

    made = answer.json()
    assert answer.status_code == 201
    assert (made["state"], made["check_result"], made["why"]) == ("drafted", check, "")


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"specified": ""}, "/specified", "blank"),
        ({"built": ""}, "/built", "blank"),
        ({"check_result": [1]}, "/check_result", "whole answer"),
        ({"check_result": {str(n): n for n in range(201)}}, "/check_result", "whole answer"),
        ({"joist": 987654321}, "/joist", "does not exist"),
    ],
)
def test_what_no_deviation_can_be_is_refused(client, house, changes, pointer, words):
    answer = client.patch(f"{DEVIATIONS}{deviation(house).pk}/", changes)

    assert refuses(answer, pointer, words)


def test_a_joist_is_one_of_the_floor_that_is_named(client, house):
    joist = factories.JoistFactory(floor__property=house, mark="J3")
    other = factories.FloorFactory(property=house)

    answer = client.patch(
        f"{DEVIATIONS}{deviation(house).pk}/", {"joist": joist.pk, "floor": other.pk}
    )

    assert refuses(answer, "/joist", "J3 is not a joist of")


def test_a_joist_of_another_house_is_refused(client, house):
    theirs = factories.JoistFactory(floor__property=another_house_of(house.owner))

    answer = client.patch(f"{DEVIATIONS}{deviation(house).pk}/", {"joist": theirs.pk})

    assert refuses(answer, "/joist", "another house")


@pytest.mark.parametrize(("step", "state"), [("accept", "accepted"), ("refuse", "refused")])
def test_a_sign_off_decides_what_was_put(client, house, step, state):
    row, by = deviation(house), sign_off(house)

    put = post(client, row, "put", at=ago(5).isoformat()).json()
    decided = post(client, row, step, at=ago(2).isoformat(), decided_by=by.pk).json()

    assert (put["state"], decided["state"]) == ("put", state)
    assert (decided["decided_by"], decided["decided_letter"]) == (by.pk, None)
    assert decided["decided_at"] == ago(2).isoformat().replace("+00:00", "Z")


def test_a_letter_decides_as_well(client, house):
    row, paper = deviation(house), letter(house)
    post(client, row, "put", at=ago(5).isoformat())

    answer = post(client, row, "accept", decided_letter=paper.pk)

    assert (answer.json()["state"], answer.json()["decided_letter"]) == ("accepted", paper.pk)


def test_nothing_decides_without_a_sign_off_or_a_letter(client, house):
    row = deviation(house)
    post(client, row, "put")

    assert refuses(post(client, row, "accept"), "/decided_by", "sign-off or the letter")


def test_an_override_decides_nothing(client, house):
    row = deviation(house)
    task = factories.TaskFactory(package__property=house)
    by = sign_off(house, result="overridden", reason="Rain", task=task)
    post(client, row, "put")

    answer = post(client, row, "accept", decided_by=by.pk)

    assert refuses(answer, "/decided_by", "not a decision")


@pytest.mark.parametrize(("name", "make"), [("decided_by", sign_off), ("decided_letter", letter)])
def test_what_decides_is_of_the_same_house(client, house, name, make):
    row = deviation(house)
    post(client, row, "put")
    theirs, strangers = make(another_house_of(house.owner)), make(another_house_of(
        factories.UserFactory()
    ))  # fmt: skip

    assert refuses(post(client, row, "accept", **{name: theirs.pk}), f"/{name}", "another house")
    assert refuses(post(client, row, "accept", **{name: strangers.pk}), f"/{name}", "not exist")


def test_it_is_decided_no_earlier_than_it_was_put(client, house):
    row = deviation(house)
    post(client, row, "put", at=ago(2).isoformat())

    answer = post(client, row, "accept", decided_by=sign_off(house).pk, at=ago(9).isoformat())

    assert refuses(answer, "/at", "later than that")


def test_nothing_is_put_without_a_reason(client, house):
    row = deviation(house, why="")

    assert refuses(post(client, row, "put"), "/why", "Say why")


def test_a_step_that_is_not_possible_names_those_that_are(client, house):
    answer = post(client, deviation(house), "accept", decided_by=sign_off(house).pk)

    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["allowed"] == ["put"]


def test_back_to_draft_takes_the_decision_away(client, house):
    row = deviation(house)
    post(client, row, "put")
    post(client, row, "refuse", decided_by=sign_off(house).pk)

    again = post(client, row, "back-to-draft").json()

    assert again["state"] == "drafted"
    assert {again[name] for name in ("put_at", "decided_at", "decided_by")} == {None}


@pytest.mark.parametrize("method", ["patch", "put", "delete"])
def test_what_was_put_is_not_rewritten_or_removed(client, house, method):
    row = deviation(house)
    post(client, row, "put")
    body = {"property": house.pk, "specified": "Nothing", "built": "Something"}

    answer = getattr(client, method)(f"{DEVIATIONS}{row.pk}/", body)

    assert is_problem(answer, 409, "deviation-was-put")
    assert Deviation.objects.get().built == row.built


def test_joists_of_another_section_are_offered_and_nothing_is_made(client, house):
    floor = factories.FloorFactory(property=house, joist_breadth_mm=50, joist_depth_mm=150)
    factories.JoistFactory(floor=floor, mark="J1")
    thin = factories.JoistFactory(floor=floor, mark="J2", breadth_mm=47)
    deep = factories.JoistFactory(floor=floor, mark="J3", depth_mm=175)
    factories.JoistFactory(floor=floor, mark="J4", depth_mm=175, condition="missing")
    told = factories.JoistFactory(floor=floor, mark="J5", breadth_mm=47)
    deviation(house, joist=told)

    answer = offered(client, house)

    first, second = answer.json()["results"]
    assert (first["joist"], second["joist"]) == (thin.pk, deep.pk)
    assert (first["specified"], first["built"]) == ("J2: 50 × 150 mm", "J2: 47 × 150 mm")
    assert Deviation.objects.count() == 1


def test_what_is_offered_can_be_posted_as_it_is_and_is_then_not_offered(client, house):
    factories.JoistFactory(floor__property=house, breadth_mm=47)
    [body] = offered(client, house).json()["results"]

    assert client.post(DEVIATIONS, body).status_code == 201
    assert offered(client, house).json()["results"] == []


@pytest.mark.parametrize("asked", [{}, {"property": "x"}, {"property": "1", "page": "2"}])
def test_offers_are_asked_for_by_the_houses_id(client, house, asked):
    answer = client.get(f"{DEVIATIONS}offered/", asked)

    assert refuses(answer, "/property", "Say which house")


def test_a_strangers_house_offers_nothing(client, house):
    theirs = factories.JoistFactory(breadth_mm=47).floor.property

    assert offered(client, theirs).status_code == 404


def test_a_viewer_puts_nothing_and_sees_the_offers(client, house):
    viewer = viewer_of(house)

    assert post(viewer, deviation(house), "put").status_code == 403
    assert offered(viewer, house).status_code == 200


def test_deviations_are_filtered_by_state_joist_and_floor(client, house):
    joist = factories.JoistFactory(floor__property=house)
    drafted = deviation(house, joist=joist, floor=joist.floor)
    put = deviation(house)
    post(client, put, "put")

    assert ids(client.get(DEVIATIONS, {"state": "put"})) == [put.pk]
    assert ids(client.get(DEVIATIONS, {"joist": joist.pk, "floor": joist.floor_id})) == [drafted.pk]
    assert ids(client.get(DEVIATIONS, {"decided_at__isnull": "false"})) == []


def test_deviations_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            deviation(house, joist=factories.JoistFactory(floor__property=house))

    make(2)
    few = queries_of_list(client, DEVIATIONS)
    make(18)

    assert queries_of_list(client, DEVIATIONS) == few
