"""Probes along a joist, and what they say of its decay."""

from datetime import timedelta

import pytest

from apps.floors.models import JoistProbe
from tests import factories
from tests.api.asking import BEGAN, ago, ahead, ids, is_problem, refuses
from tests.api.walk import viewer_of

PROBES = "/api/v1/joist-probes/"


def a_joist(house, **fields):
    return factories.JoistFactory(
        floor__property=house, mark="J7", line=[[0, 0], [0, 4000]], **fields
    )


def probe(joist, at_mm, probe_mm=2, **fields):
    return factories.JoistProbeFactory(joist=joist, at_mm=at_mm, probe_mm=probe_mm, **fields)


def decay(client, joist, **query):
    return client.get(f"/api/v1/joists/{joist.pk}/decay/", query)


def body(joist, **fields):
    return {
        "joist": joist.pk,
        "at_mm": 100,
        "probe_mm": 3,
        "probed_at": ago(1).isoformat(),
        **fields,
    }


def test_a_soft_end_is_cut_back_by_the_chosen_allowance(client, house):
    joist = a_joist(house)
    soft = probe(joist, 100, 25)
    for at in (400, 700, 1500, 2500, 3400):
        probe(joist, at)

    customary = decay(client, joist, rot="dry").json()
    sparing = decay(client, joist, rot="dry", allowance="back_to_sound").json()
    own = decay(client, joist, own_allowance_mm="350").json()

    assert [row["cut_backs"][0]["keep_from_mm"] for row in (customary, sparing, own)] == [
        700, 400, 450,
    ]  # fmt: skip
    assert customary["cut_backs"][0]["ids"] == [soft.pk]
    assert customary["keeps"] == [
        {"from_mm": 700, "to_mm": 4000, "sentence": customary["keeps"][0]["sentence"]}
    ]
    assert customary["cautions"]
    assert "common practice, no source" in customary["allowance"]


def test_what_was_probed_again_at_the_same_place_and_face_stands_no_more(client, house):
    joist = a_joist(house)
    probe(joist, 100, 2, moisture_pct=27.0, probed_at=ago(48))
    probe(joist, 100, 2, moisture_pct=15.0, probed_at=ago(1))
    probe(joist, 100, 30, face="end", moisture_pct=None, probed_at=ago(72))

    (place,) = decay(client, joist).json()["places"]

    assert place["state"] == "decayed"
    assert "15 %" in place["sentence"]


def test_decay_noted_on_the_joist_counts_as_a_sign(client, house):
    joist = a_joist(house, condition="decayed", decayed=[{"from_mm": 3500, "to_mm": 9000}])
    probe(joist, 2000)
    probe(joist, 3000)

    found = decay(client, joist, rot="wet").json()

    assert found["cut_backs"][0]["first_sign_mm"] == 3500
    assert found["keeps"][0]["to_mm"] == 3000


def test_a_joist_decayed_all_along_keeps_nothing(client, house):
    found = decay(client, a_joist(house, condition="decayed")).json()

    assert found["keeps"] == []
    assert found["cut_backs"][0]["last_sign_mm"] == 4000


def test_a_joist_nobody_probed_is_no_sound_one(client, house):
    found = decay(client, a_joist(house)).json()

    assert (found["longest_sound_mm"], found["keeps"]) == (0, [])
    assert "probe both ends first" in found["sentence"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"rot": "brown"}, "/rot"),
        ({"allowance": "guess"}, "/allowance"),
        ({"own_allowance_mm": "6000"}, "/own_allowance_mm"),
        ({"own_allowance_mm": "1,2"}, "/own_allowance_mm"),
        ({"own_allowance_mm": "-1"}, "/own_allowance_mm"),
        ({"rooms": "1"}, "/rooms"),
    ],
)
def test_a_question_it_does_not_know_is_refused(client, house, query, pointer):
    answer = decay(client, a_joist(house), **query)

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_many_probes_are_noted_at_once(client, house):
    joist = a_joist(house)

    answer = client.post(PROBES, [body(joist, at_mm=at) for at in (0, 500, 1000)])

    assert answer.status_code == 201
    assert [row["at_mm"] for row in answer.json()] == [0, 500, 1000]
    assert JoistProbe.objects.count() == 3


def test_of_many_probes_all_are_noted_or_none(client, house):
    joist = a_joist(house)

    answer = client.post(PROBES, [body(joist), body(joist, at_mm=4001)])

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/1/at_mm"
    assert not JoistProbe.objects.exists()


def test_probes_of_another_house_are_not_noted_in_a_list_either(client, house):
    stranger = a_joist(factories.PropertyFactory())

    answer = client.post(PROBES, [body(a_joist(house)), body(stranger)])

    assert refuses(answer, "/1/joist", "does not exist")
    assert not JoistProbe.objects.exists()


@pytest.mark.parametrize("rows", [[], [{}] * 501, ["x"]])
def test_lists_that_are_none_are_refused(client, house, rows):
    assert client.post(PROBES, rows).status_code == 400


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"at_mm": 4001}, "J7 is 4000 mm long"),
        ({"probe_mm": None}, "depth, the moisture or the fixing"),
        ({"probe_mm": 601}, "0 to 600"),
        ({"moisture_pct": 301}, "0 to 300"),
        ({"moisture_pct": "NaN"}, "valid number"),
        ({"moisture_pct": True}, "valid number"),
        ({"probed_at": ahead(2).isoformat()}, "yet to happen"),
        ({"fixing": "gone"}, "gone"),
    ],
)
def test_a_probe_that_cannot_be_is_refused(client, house, fields, words):
    answer = client.post(PROBES, body(a_joist(house), **fields))

    assert answer.status_code == 400
    assert any(words in error["detail"] for error in answer.json()["errors"])


def test_a_fixing_alone_is_worth_noting(client, house):
    answer = client.post(PROBES, body(a_joist(house), probe_mm=None, fixing="wasted"))

    assert answer.status_code == 201
    assert answer.json()["moisture_pct"] is None


def test_probes_are_found_by_floor_time_and_look(client, house):
    joist = a_joist(house)
    old = probe(joist, 100, fixing="wasted", probed_at=BEGAN - timedelta(days=9))
    new = probe(a_joist(house), 100, 20)

    assert ids(client.get(PROBES, {"floor": joist.floor_id})) == [old.pk]
    assert ids(client.get(PROBES, {"fixing__in": "stained,wasted"})) == [old.pk]
    assert ids(client.get(PROBES, {"probe_mm__gte": 10})) == [new.pk]


def test_a_slip_is_taken_back(client, house):
    row = probe(a_joist(house), 100)

    assert client.delete(f"{PROBES}{row.pk}/").status_code == 204
    assert not JoistProbe.objects.exists()


def test_a_floor_with_probes_is_not_set_out_again(client, house):
    joist = a_joist(house)
    probe(joist, 100)

    answer = client.post(f"/api/v1/floors/{joist.floor_id}/set-out/", {"max_board_length_mm": 2400})

    assert is_problem(answer, 409, "floor-has-history")
    assert "J7" in answer.json()["detail"]


def test_a_viewer_reads_the_decay_and_notes_nothing(house):
    joist = a_joist(house)
    viewer = viewer_of(house)

    assert decay(viewer, joist).status_code == 200
    assert client_refused(viewer, [body(joist)])


def client_refused(client, rows):
    return client.post(PROBES, rows).status_code == 403
