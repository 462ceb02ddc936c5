"""All joists of a floor in one call: `GET floors/ID/checks/`."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import factories
from tests.api.asking import ago
from tests.api.walk import is_problem, pointers, stranger, viewer_of

PLATES = [
    {"at_mm": 0, "length_mm": 100, "kind": "wall_plate"},
    {"at_mm": 2600, "length_mm": 100, "kind": "wall_plate"},
]
HOLE = {"at_mm": 1000, "size_mm": 20, "depth_mm": 75, "kind": "hole", "edge": "centre"}


@pytest.fixture
def floor(house):
    """A ground floor: nothing hangs below."""
    return factories.FloorFactory(property=house)


def joist(floor, **fields):
    return factories.JoistFactory(floor=floor, **{"bearings": PLATES, **fields})


def checked(client, floor, **query):
    answer = client.get(f"/api/v1/floors/{floor.pk}/checks/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()


def line(client, floor, **query):
    (only,) = checked(client, floor, **query)["joists"]
    return only


def test_a_sound_joist_passes_over_its_clear_span(client, floor):
    row = joist(floor)

    found = line(client, floor)

    assert (found["joist"], found["mark"], found["condition"]) == (row.pk, row.mark, "sound")
    assert (found["from_mm"], found["to_mm"]) == (100, 2600)
    assert found["passes"] is True
    assert found["governing"]["utilisation"] == found["utilisation"] <= 1
    assert max(found["utilisations"].values()) == found["utilisation"]
    assert found["greatest_span_mm"] > 2500
    assert str(row) in found["sentence"]


def test_the_figures_are_those_of_the_joist_asked_about_by_itself(client, floor):
    joist(floor, cuts=[HOLE])

    found = line(client, floor)
    alone = client.post(
        "/api/v1/checks/joist/",
        {
            "span_mm": 2500, "breadth_mm": 50, "depth_mm": 150, "strength_class": "C16",
            "spacing_mm": floor.joist_centres_mm, "layers": [{"name": "boards"}],
            "ceiling": "none", "deck": {"thickness_mm": floor.board_thickness_mm},
            "bearings": [{"length_mm": 100, "kind": "wall_plate"}] * 2,
            "cuts": [{**HOLE, "at_mm": 900}],
        },
    ).json()  # fmt: skip

    checks = alone["outcome"]["checks"]
    assert found["utilisations"] == {check["code"]: check["utilisation"] for check in checks}
    assert found["greatest_span_mm"] == alone["greatest_span_mm"]
    assert found["smallest_section"] == alone["smallest_section"]
    assert found["warnings"] == alone["outcome"]["warnings"]


def test_the_worse_of_two_spans_is_told(client, floor):
    plates = [{**PLATES[0], "at_mm": at} for at in (0, 1000, 3900)]
    joist(floor, bearings=plates)

    found = line(client, floor)

    assert (found["from_mm"], found["to_mm"]) == (1100, 3900)


def test_without_bearings_the_whole_line_is_the_span(client, floor):
    joist(floor, bearings=[])

    found = line(client, floor)

    assert (found["from_mm"], found["to_mm"]) == (0, 4000)
    assert "bearings-not-given" in {note["code"] for note in found["warnings"]}


def test_a_decayed_joist_gets_no_capacity(client, floor):
    joist(floor, condition="decayed", decayed=[{"from_mm": 0, "to_mm": 300}])

    found = line(client, floor)

    assert (found["passes"], found["utilisation"], found["utilisations"]) == (None, None, {})
    assert [note["code"] for note in found["blocked"]] == ["decay"]


def test_decay_that_nobody_placed_counts_from_end_to_end(client, floor):
    joist(floor, condition="decayed")

    assert line(client, floor)["passes"] is None


def test_decay_beyond_a_span_leaves_the_other_span_its_capacity(client, floor):
    plates = [{**PLATES[0], "at_mm": at} for at in (0, 1900, 3900)]
    joist(floor, bearings=plates, condition="decayed", decayed=[{"from_mm": 0, "to_mm": 300}])

    found = line(client, floor)

    assert (found["from_mm"], found["to_mm"]) == (100, 1900)
    assert found["passes"] is None


def test_a_damp_joist_gets_no_capacity_until_it_reads_dry(client, floor):
    row = joist(floor)
    factories.JoistProbeFactory(joist=row, moisture_pct=24, probed_at=ago(48))
    assert line(client, floor)["passes"] is None

    factories.JoistProbeFactory(joist=row, moisture_pct=17, probed_at=ago(24))

    assert line(client, floor)["passes"] is True


def test_a_missing_joist_is_told_and_not_checked(client, floor):
    row = joist(floor, condition="missing")

    found = line(client, floor)

    assert found["sentence"] == f"{row} is not there."
    assert (found["passes"], found["from_mm"]) == (None, None)


def test_a_joist_with_figures_that_none_has_is_told_and_the_others_are_checked(client, floor):
    touching = [PLATES[0], {**PLATES[1], "at_mm": 150}]
    joist(floor, bearings=touching)
    joist(floor)

    odd, usual = checked(client, floor)["joists"]

    assert [note["code"] for note in odd["blocked"]] == ["no-figures"]
    assert "The clear span is 100 to 20000 mm." in odd["sentence"]
    assert usual["passes"] is True


def test_the_floor_is_told_in_a_sentence_the_gravest_first(client, floor):
    joist(floor, mark="J1")
    joist(floor, mark="J2", condition="decayed")
    joist(floor, mark="J3", depth_mm=90)

    sentence = checked(client, floor)["sentence"]

    assert sentence.startswith("J2: no capacity is given until inspected. J3 does not pass;")
    assert sentence.endswith("1 of 3 pass as assumed.")


def test_a_floor_without_joists_says_so(client, floor):
    assert "no joists noted" in checked(client, floor)["sentence"]


def test_a_better_class_or_a_lighter_load_is_used_as_asked(client, floor):
    joist(floor)

    usual, better = line(client, floor), line(client, floor, strength_class="c24")
    lighter = checked(client, floor, imposed_kn_m2=0.75, dead_kn_m2=0.2)

    assert better["utilisations"]["bending"] < usual["utilisations"]["bending"]
    assert lighter["joists"][0]["utilisations"]["bending"] < usual["utilisations"]["bending"]
    assert (lighter["assumed"]["imposed_kn_m2"], lighter["assumed"]["dead_kn_m2"]) == (0.75, 0.2)


def test_the_class_of_the_row_goes_before_the_one_assumed(client, floor):
    joist(floor, strength_class="C24")

    of_the_row = line(client, floor, strength_class="C14")["utilisations"]

    assert of_the_row == line(client, floor)["utilisations"]


def test_above_the_ground_floor_lath_and_plaster_are_taken_to_hang_below(client, house, floor):
    upstairs = factories.FloorFactory(
        property=house, storey=factories.StoreyFactory(property=house, level=1, name="First")
    )
    joist(floor)
    joist(upstairs)

    below, above = line(client, floor), line(client, upstairs)

    assert above["utilisations"]["bending"] > below["utilisations"]["bending"]
    assert line(client, upstairs, ceiling="none")["utilisations"] == below["utilisations"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"imposed_kn_m2": "heavy"}, "/imposed_kn_m2"),
        ({"imposed_kn_m2": "-1"}, "/imposed_kn_m2"),
        ({"imposed_kn_m2": "NaN"}, "/imposed_kn_m2"),
        ({"dead_kn_m2": "1e9"}, "/dead_kn_m2"),
        ({"ceiling": "starry"}, "/ceiling"),
        ({"service_class": "4"}, "/service_class"),
        ({"strutting_rows": "11"}, "/strutting_rows"),
        ({"strength_class": "C99"}, "/strength_class"),
        ({"colour": "green"}, "/colour"),
    ],
)
def test_a_wrong_query_is_refused_with_its_name(client, floor, query, pointer):
    answer = client.get(f"/api/v1/floors/{floor.pk}/checks/", query)

    assert is_problem(answer, 400)
    assert pointers(answer) == [pointer]


def test_a_viewer_may_look_and_a_stranger_finds_nothing(house, floor):
    at = f"/api/v1/floors/{floor.pk}/checks/"

    assert viewer_of(house).get(at).status_code == 200
    assert is_problem(stranger().get(at), 404)


def test_more_joists_take_no_more_queries(client, floor):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            checked(client, floor)
        return len(caught)

    factories.JoistProbeFactory(joist=joist(floor))
    few = queries()
    for n in range(20):
        factories.JoistProbeFactory(joist=joist(floor, depth_mm=150 + n))

    assert queries() == few
