"""What the calculators say where there is more to say than the worked examples show."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from apps.checks.api.known_settings import KNOWN
from apps.checks.results import CAUTIONS, EDITION
from tests.api.asking import refuses
from tests.api.documented import NAMES, asked
from tests.api.walk import is_problem, pointers


def post(client, name, body):
    answer = client.post(f"/api/v1/checks/{name}/", body)
    assert answer.status_code == 200, answer.content
    return answer.json()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"void_moisture_pct": 22}, "void-damp"),
        ({"decayed": [{"from_mm": 0, "to_mm": 300}]}, "decay"),
        ({"through_split": True}, "through-split"),
    ],
)
def test_no_capacity_is_given_until_somebody_has_inspected(client, changes, code):
    found = post(client, "joist", asked("joist", **changes))

    outcome = found["outcome"]
    assert (outcome["passes"], outcome["checks"], outcome["governing"]) == (None, [], None)
    assert [note["code"] for note in outcome["blocked"]] == [code]
    assert "no capacity until it is inspected" in outcome["sentence"]
    assert (found["figures"], found["greatest_span_mm"], found["smallest_section"]) == (
        {},
        None,
        None,
    )


def test_a_void_at_the_limit_is_still_given_a_capacity(client):
    assert post(client, "joist", asked("joist", void_moisture_pct=20))["outcome"]["checks"]


def test_a_joist_answers_with_edition_inputs_and_cautions(client):
    found = post(client, "joist", asked("joist"))

    assert found["outcome"]["edition"] == EDITION
    assert set(CAUTIONS) <= set(found["outcome"]["cautions"])
    assert found["given"]["load_duration"] == "medium_term"
    assert found["given"]["settings"]["k_cr"] == 0.67
    worst = max(found["outcome"]["checks"], key=lambda check: check["utilisation"])
    assert found["outcome"]["governing"] == worst["code"]


def test_a_setting_changes_the_answer(client):
    usual = post(client, "joist", asked("joist"))
    apart = post(client, "joist", asked("joist", settings={"k_sys": 1.0}))

    assert (usual["figures"]["k_sys"], apart["figures"]["k_sys"]) == (1.1, 1.0)


def test_where_no_hole_is_wanted_none_is_looked_for(client):
    body = asked("cuts")
    del body["drill_mm"]

    assert post(client, "cuts", body)["drilling"] is None


def test_a_notch_in_the_middle_is_told_by_rule_and_calculated_all_the_same(client):
    body = asked("cuts")
    body["joist"]["cuts"] = [
        {"kind": "notch", "at_mm": 1500, "size_mm": 40, "depth_mm": 30, "edge": "bottom"}
    ]

    found = post(client, "cuts", body)

    assert found["by_rule"]
    assert found["joist"]["outcome"]["checks"]


def test_a_lap_that_is_too_short_names_what_gives_way(client):
    found = post(client, "lap", asked("lap", lap_mm=330))

    assert found["outcome"]["passes"] is False
    assert (found["lap_mm"], found["least_lap_mm"]) == (330, None)


def test_the_shortest_lap_passes_by_itself(client):
    least = post(client, "lap", asked("lap"))["least_lap_mm"]

    assert post(client, "lap", asked("lap", lap_mm=least))["outcome"]["passes"] is True


def test_a_drawing_shows_every_fixing_and_says_what_it_is(client):
    found = post(client, "lap", asked("lap"))

    drawing = ElementTree.fromstring(found["drawing"])

    space = "{http://www.w3.org/2000/svg}"
    assert len(list(drawing.iter(f"{space}circle"))) == found["pattern"]["count"]
    assert drawing.find(f"{space}title").text == found["pattern"]["sentence"]


def test_without_an_overlap_no_pattern_is_drawn(client):
    body = asked("fixing")
    del body["overlap_mm"]
    del body["force_n"]

    found = post(client, "fixing", body)

    assert found["drawing"] is None
    assert (found["fixing"]["pattern"], found["fixing"]["check"]) == (None, None)


def test_a_bolt_with_timber_on_both_faces_carries_in_two_planes(client):
    body = asked("fixing", fastener="bolt_m12", sides=2)
    del body["overlap_mm"]

    found = post(client, "fixing", body)["fixing"]

    assert found["planes"] == 2
    assert set(found["modes"]) == {"g", "h", "j", "k"}
    assert found["check"]["capacity"] == pytest.approx(2 * found["design_n"], rel=1e-5)


def test_a_sister_whose_fixing_is_worked_out_is_as_one_whose_figures_are_given(client):
    by_name = post(client, "sister", asked("sister"))
    fixings = by_name["given"]["fixings"]

    given = post(client, "sister", {**asked("sister", fixings=fixings), "fixed_by": None})

    assert given["outcome"]["passes"] == by_name["outcome"]["passes"]
    assert given["fixings"]["ends_n"] == pytest.approx(by_name["fixings"]["ends_n"], rel=1e-4)


def test_a_sister_that_stops_short_unfixed_gets_no_capacity(client):
    body = asked("sister")
    del body["fixed_by"]

    assert post(client, "sister", body)["outcome"]["passes"] is None


def test_the_ends_of_a_trimmer_are_points_of_its_trimming_joist(client):
    ends = post(client, "trimmer", asked("trimmer"))["ends"]
    carrier = {**asked("trimmer")["trimmer"], "kind": "trimming_joist", "span_mm": 3600}
    carrier["points"] = [{**ends[0], "at_mm": 900}]

    found = post(client, "trimmer", {"trimmer": carrier})

    assert found["outcome"]["sentence"].startswith("The trimming joist")
    assert found["given"]["points"] == carrier["points"]


def test_soft_packing_gets_no_capacity(client):
    packed = asked("bearing", packers=[{"thickness_mm": 6, "material": "softwood"}])

    assert post(client, "bearing", packed)["outcome"]["passes"] is None


def test_every_setting_is_listed_with_its_sentence_and_taken(client):
    listed = client.get("/api/v1/checks/settings/").json()

    known = {name for calculators, _, _ in KNOWN for name in calculators}
    assert known == {name for row in listed for name in row["calculators"]} == set(NAMES)
    assert all(len(row["sentence"]) > 20 for row in listed)
    taken = {row["name"]: row["default"] for row in listed if "deck" in row["calculators"]}
    assert post(client, "deck", asked("deck", settings=taken)) == post(
        client, "deck", asked("deck")
    )


def test_the_list_of_settings_takes_no_filter(client):
    answer = client.get("/api/v1/checks/settings/", {"calculators": "joist"})

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/calculators"]


def test_a_slanted_house_with_no_wall_on_one_side_is_answered(client):
    body = asked(
        "subfloor-ventilation",
        outline=[[0, 0], [8000, 0], [8000, 20_000], [0, 6000], [0, 0]],
        beyond=["outside", "inside", "outside", "solid_floor"],
        openings=[{"id": 1, "at": [2000, 0], "free_area_mm2": 6000}],
    )

    sides = post(client, "subfloor-ventilation", body)["sides"]

    assert {"a side without a wall"} == {one["name"] for one in sides if not one["walls"]}


def test_a_level_that_cannot_be_reached_says_which_rule_is_in_the_way(client):
    body = asked("levels")
    body["spots"][0]["height_mm"] = -60.0

    found = post(client, "levels", body)

    assert found["possible"] is False
    assert "stack" in {one["rule"] for one in found["broken"]}


def test_a_joist_with_as_many_cuts_as_a_list_holds_is_answered(client):
    hole = {"kind": "hole", "size_mm": 10, "depth_mm": 97, "edge": "centre"}
    cuts = [{**hole, "at_mm": 300 + 6 * n} for n in range(500)]

    assert post(client, "joist", asked("joist", cuts=cuts))["outcome"]["checks"]
    assert refuses(
        client.post("/api/v1/checks/joist/", asked("joist", cuts=[*cuts, cuts[0]])),
        "/cuts",
        "no more than 500",
    )
