"""What fits what, over HTTP: verdicts with sentences, figures and cautions."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import factories
from tests.api.asking import ago

NEEDS = "/api/v1/timber-needs/"
PIECES = "/api/v1/timber-pieces/"


def matches(client, need):
    answer = client.get(f"{NEEDS}{need.pk}/matches/")
    assert answer.status_code == 200, answer.json()
    return answer.json()["matches"]


def uses(client, piece):
    return client.get(f"{PIECES}{piece.pk}/uses/").json()["matches"]


def plate(house, **said):
    wanted = {"role": "plate", "title": "Wall plate", "length_mm": 2100, **said}
    return factories.NeedFactory(property=house, **wanted)


def dry(piece):
    factories.MoistureReadingFactory(piece=piece, measured_pct=14, read_at=ago(24))
    return piece


def test_a_sound_dry_piece_fits_with_its_figures(client, house):
    piece = dry(factories.PieceFactory(property=house, stored="dry", length_mm=3000))

    [match] = matches(client, plate(house))

    assert (match["fits"], match["piece"]["mark"]) == (True, piece.mark)
    assert match["run"]["length_mm"] >= 2100
    assert match["sentence"].startswith(piece.mark)


def test_a_sound_length_that_is_too_short_says_by_how_much_and_why(client, house):
    piece = dry(factories.PieceFactory(property=house, stored="dry", length_mm=3400))
    factories.DefectFactory(piece=piece, kind="decay", from_mm=0, to_mm=300)
    factories.DefectFactory(piece=piece, kind="split", from_mm=2440, to_mm=2600, severity="severe")

    [match] = matches(client, plate(house))

    run = match["run"]
    assert match["fits"] is False
    assert f"{run['length_mm']} of 2100 mm, between decay and split" in match["sentence"]


def test_a_wet_piece_says_until_when(client, house):
    piece = factories.PieceFactory(property=house, stored="dry")
    for days, pct in ((20, 27.0), (10, 25.6), (1, 24.5)):
        factories.MoistureReadingFactory(piece=piece, measured_pct=pct, read_at=ago(24 * days))

    [match] = matches(client, plate(house))

    assert (match["verdict"], match["fits"]) == ("too_wet", False)
    assert match["wet_until"] > ago(0).date().isoformat()
    assert "too wet until" in match["sentence"]


def test_what_fits_comes_first_and_is_counted(client, house):
    rotten = dry(factories.PieceFactory(property=house, stored="dry"))
    factories.DefectFactory(piece=rotten, from_mm=1000, to_mm=2000)
    sound = dry(factories.PieceFactory(property=house, stored="dry"))

    answer = client.get(f"{NEEDS}{plate(house).pk}/matches/").json()

    assert [m["piece"]["mark"] for m in answer["matches"]] == [sound.mark, rotten.mark]
    assert answer["sentence"] == f"“Wall plate”: 1 of 2 pieces fit: {sound.mark}."


def test_timber_that_carries_load_carries_its_cautions(client, house):
    dry(factories.PieceFactory(property=house, stored="dry"))

    [structural] = matches(client, plate(house))
    [lying] = matches(client, plate(house, role="noggin"))

    assert any("not graded" in caution for caution in structural["cautions"])
    assert lying["cautions"] == []


def test_an_offered_deviation_is_a_body_that_deviations_take(client, house):
    dry(
        factories.PieceFactory(
            property=house, stored="dry", strength_class="C16", graded_by="Mar",
            grade_why="Clean redwood, all faces seen",
        )
    )  # fmt: skip

    [match] = matches(client, plate(house, strength_class="C16"))
    answer = client.post("/api/v1/deviations/", match["deviation"])

    assert match["fits"] is True
    assert "not graded" in match["sentence"]
    assert answer.status_code == 201, answer.json()


JOIST = {"role": "joist", "title": "Joist J5", "breadth_mm": 50, "depth_mm": 200}


def j5(house, length):
    return factories.JoistFactory(
        floor__property=house, mark="J5", line=[[0, 0], [0, length]],
        bearings=[
            {"at_mm": 0, "length_mm": 90, "kind": "wall_plate"},
            {"at_mm": length - 90, "length_mm": 90, "kind": "wall_plate"},
        ],
    )  # fmt: skip


def assumed(house, **said):
    return dry(
        factories.PieceFactory(
            property=house, stored="dry", strength_class="C16", graded_by="Mar",
            grade_why="Clean redwood, all faces seen", **said,
        )
    )  # fmt: skip


def test_a_piece_narrower_than_wanted_fits_if_the_joist_check_passes(client, house):
    assumed(house, depth_mm=200, breadth_mm=44, length_mm=2600)
    joist = j5(house, 2180)

    [match] = matches(client, plate(house, **JOIST, length_mm=2180, joist=joist))

    assert match["verdict"] == "fits_by_check"
    assert match["check"]["passes"] is True
    assert match["check"]["edition"].startswith("EN 1995-1-1")
    assert match["deviation"]["joist"] == joist.pk
    assert match["deviation"]["check_result"] == match["check"]
    assert client.post("/api/v1/deviations/", match["deviation"]).status_code == 201


def test_a_piece_that_fails_the_joist_check_says_by_what(client, house):
    assumed(house, depth_mm=200, breadth_mm=30, length_mm=5200)

    [match] = matches(client, plate(house, **JOIST, length_mm=4980, joist=j5(house, 4980)))

    assert (match["verdict"], match["fits"], match["deviation"]) == ("check_fails", False, None)
    assert match["check"]["passes"] is False


def test_a_piece_says_what_open_needs_it_would_do_for(client, house):
    piece = dry(factories.PieceFactory(property=house, stored="dry"))
    plate(house, title="Too long", length_mm=5000)
    plate(house, title="Wanted first", priority=1)
    plate(house, title="Wanted later", priority=7)
    plate(house, title="Met", state="met")

    found = uses(client, piece)

    assert [match["need"]["title"] for match in found] == [
        "Wanted first", "Wanted later", "Too long",
    ]  # fmt: skip
    assert [match["fits"] for match in found] == [True, True, False]


@pytest.mark.parametrize(("state", "there"), [("reserved", True), ("scrapped", False)])
def test_a_reserved_piece_is_there_but_taken_and_a_scrapped_one_is_gone(
    client, house, state, there
):
    dry(factories.PieceFactory(property=house, stored="dry", state=state))

    found = matches(client, plate(house))

    assert [match["verdict"] for match in found] == (["taken"] if there else [])


def test_another_houses_timber_is_not_offered(client, house):
    factories.PieceFactory()

    answer = client.get(f"{NEEDS}{plate(house).pk}/matches/").json()

    assert answer == {"sentence": "“Wall plate”: there is no piece to ask.", "matches": []}


@pytest.mark.parametrize("query", ["role=joist", "page=1"])
def test_a_misspelt_parameter_is_refused(client, house, query):
    piece, need = factories.PieceFactory(property=house), plate(house)

    assert client.get(f"{PIECES}{piece.pk}/uses/?{query}").status_code == 400
    assert client.get(f"{NEEDS}{need.pk}/matches/?{query}").status_code == 400


def test_a_larger_pile_takes_no_more_queries(client, house):
    need = plate(house)

    def queries():
        with CaptureQueriesContext(connection) as caught:
            matches(client, need)
        return len(caught)

    for _ in range(2):
        dry(factories.PieceFactory(property=house))
    few = queries()
    for _ in range(6):
        dry(factories.PieceFactory(property=house))

    assert queries() == few <= 8
