"""What the calculators refuse, each refusal at the part of the body that is to blame."""

from __future__ import annotations

import json

import pytest

from tests.api.asking import refuses
from tests.api.documented import NAMES, asked
from tests.api.walk import is_problem, pointers

HOLE = {"kind": "hole", "at_mm": 1200, "size_mm": 22, "depth_mm": 97, "edge": "centre"}


def post(client, name, body):
    return client.post(f"/api/v1/checks/{name}/", body)


def test_a_missing_field_is_named(client):
    body = asked("joist")
    del body["span_mm"]

    assert refuses(post(client, "joist", body), "/span_mm", "required")


def test_a_span_in_metres_is_refused_as_a_slip(client):
    answer = post(client, "joist", asked("joist", span_mm=3.6))

    assert refuses(answer, "/span_mm", "lengths in millimetres")


@pytest.mark.parametrize("value", ["47", True, None, [47], {"mm": 47}, 10**12])
def test_a_number_is_a_number(client, value):
    answer = post(client, "joist", asked("joist", breadth_mm=value))

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/breadth_mm"]


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_what_is_no_json_number_is_refused(client, word):
    text = json.dumps(asked("joist")).replace('"depth_mm": 195', f'"depth_mm": {word}')
    assert word in text

    answer = client.post("/api/v1/checks/joist/", text, content_type="application/json")

    assert is_problem(answer, 400)


def test_a_joist_that_cannot_be_one_is_refused_with_the_reason(client):
    answer = post(client, "joist", asked("joist", span_mm=25_000))

    assert refuses(answer, "", "The clear span is 100 to 20000 mm.")


def test_a_refusal_points_at_the_cut_in_a_list(client):
    answer = post(client, "joist", asked("joist", cuts=[HOLE, {**HOLE, "kind": "slot"}]))

    assert refuses(answer, "/cuts/1", "A cut is one of notch, hole.")


def test_a_refusal_points_through_the_joist_of_a_wider_question(client):
    body = asked("cuts")
    body["joist"]["cuts"][0]["edge"] = "side"

    assert refuses(post(client, "cuts", body), "/joist/cuts/0", "The edge of a cut is one of")


def test_a_number_wrong_deep_inside_is_pointed_at(client):
    body = asked("cuts")
    body["joist"]["cuts"][0]["size_mm"] = "40"

    assert refuses(post(client, "cuts", body), "/joist/cuts/0/size_mm", "A whole number")


def test_a_setting_out_of_range_is_refused_at_the_settings(client):
    answer = post(client, "joist", asked("joist", settings={"k_cr": 1.5}))

    assert refuses(answer, "/settings", "The setting k_cr is 0.3 to 1.")


def test_a_setting_that_nobody_knows_is_refused(client):
    answer = post(client, "joist", asked("joist", settings={"fudge": 2}))

    assert refuses(answer, "/settings/fudge", "There is no such field")


def test_a_bearing_of_a_sister_is_pointed_at(client):
    body = asked("sister")
    body["new"]["bearings"] = [None, {"length_mm": 60, "kind": "cloud"}]

    assert refuses(post(client, "sister", body), "/new/bearings/1", "The kind of bearing")


def test_a_sister_is_fixed_in_one_way_only(client):
    body = asked("sister", fixings={"name": "x", "characteristic_n": 900, "slip_n_mm": 900})

    assert refuses(post(client, "sister", body), "", "not both")


def test_a_sister_with_a_comb_of_cuts_is_refused(client):
    body = asked("sister")
    body["old"]["cuts"] = [{**HOLE, "at_mm": 100 + 80 * n} for n in range(41)]

    assert refuses(post(client, "sister", body), "", "At most 40 notches and holes")


def test_a_fastener_is_one_by_name_or_by_its_figures(client):
    by_name = post(client, "lap", asked("lap", fastener="bolt_m12")).json()
    by_figures = post(
        client, "lap", asked("lap", fastener={"kind": "bolt", "diameter_mm": 12})
    ).json()

    assert by_figures["outcome"] == by_name["outcome"]
    answer = post(client, "lap", asked("lap", fastener="rivet"))
    assert refuses(answer, "/fastener", "Known by name are bolt_m8")
    answer = post(client, "lap", asked("lap", fastener={"kind": "bolt", "diameter_mm": "12"}))
    assert refuses(answer, "/fastener/diameter_mm", "valid number")
    answer = post(client, "lap", asked("lap", fastener={"kind": "rivet", "diameter_mm": 12}))
    assert refuses(answer, "/fastener", "A fastener is one of nail, screw, bolt.")


def test_a_nail_that_does_not_reach_is_refused_with_the_sentence(client):
    body = asked("fixing")
    body["head"]["thickness_mm"] = 70

    assert refuses(post(client, "fixing", body), "", "into the second piece")


def test_an_outline_that_is_not_closed_is_refused(client):
    body = asked("subfloor-ventilation", outline=[[0, 0], [8000, 0], [8000, 6000], [0, 6000]])

    assert refuses(post(client, "subfloor-ventilation", body), "", "closed ring")


def test_as_many_spots_as_no_floor_has_are_refused_at_once(client):
    spot = asked("levels")["spots"][0]
    spots = [{**spot, "id": n, "along_mm": 200 * n} for n in range(500)]

    assert refuses(
        post(client, "levels", asked("levels", spots=spots)), "", "1 to 120 spot heights"
    )


@pytest.mark.parametrize("name", NAMES)
def test_a_list_longer_than_anybody_measures_is_refused(client, name):
    body = asked(name)
    lists = [key for key, value in body.items() if isinstance(value, list)]
    for key in lists:
        answer = post(client, name, {**body, key: body[key] * 501})

        assert is_problem(answer, 400), key
        assert all(pointer.startswith(f"/{key}") or pointer == "" for pointer in pointers(answer))
    assert is_problem(post(client, name, {}), 400)
