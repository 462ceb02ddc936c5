"""Moisture readings over HTTP: one or many, all or none."""

from __future__ import annotations

import pytest

from apps.timber.models import MoistureReading
from tests import factories
from tests.api.asking import ahead, ids, queries_of_list, refuses

READINGS = "/api/v1/moisture-readings/"
WHEN = "2026-03-02T19:00:00Z"


def reading(piece, **said):
    return {"piece": piece.pk, "measured_pct": 22.5, "read_at": WHEN, **said}


def test_a_list_of_readings_is_noted_in_one_call(client, house):
    pieces = [factories.PieceFactory(property=house) for _ in range(3)]

    answer = client.post(READINGS, [reading(piece) for piece in pieces])

    assert answer.status_code == 201, answer.json()
    assert [row["piece"] for row in answer.json()] == [piece.pk for piece in pieces]


def test_a_slip_in_a_list_is_pointed_at_and_nothing_is_noted(client, house):
    piece = factories.PieceFactory(property=house)
    rows = [reading(piece) for _ in range(5)]
    rows[3]["measured_pct"] = "wet"

    answer = client.post(READINGS, rows)

    assert refuses(answer, "/3/measured_pct", "number")
    assert not MoistureReading.objects.exists()


@pytest.mark.parametrize("pct", [140, 100.1, -0.1, 1e308])
def test_a_reading_is_a_percentage(client, house, pct):
    piece = factories.PieceFactory(property=house)

    one = client.post(READINGS, reading(piece, measured_pct=pct))
    many = client.post(READINGS, [reading(piece), reading(piece, measured_pct=pct)])

    assert refuses(one, "/measured_pct", "0 to 100 %")
    assert refuses(many, "/1/measured_pct", "0 to 100 %")
    assert not MoistureReading.objects.exists()


@pytest.mark.parametrize("pct", ["NaN", "inf", True, None, "22,5", [22]])
def test_a_reading_is_a_number(client, house, pct):
    piece = factories.PieceFactory(property=house)

    answer = client.post(READINGS, reading(piece, measured_pct=pct))

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/measured_pct"


@pytest.mark.parametrize(
    ("said", "pointer", "words"),
    [
        ({"at_mm": 3001}, "/at_mm", "3000 mm long"),
        ({"at_mm": 1.5}, "/at_mm", "whole millimetres"),
        ({"wood_temperature_c": 80}, "", "60 °C"),
        ({"species_correction_pct": 11}, "", "correction"),
        ({"read_at": ahead(24).isoformat()}, "/read_at", "still to come"),
        ({"read_at": "2026-03-02T19:00:00"}, "/read_at", "time zone"),
    ],
)
def test_what_no_reading_can_be_is_refused(client, house, said, pointer, words):
    piece = factories.PieceFactory(property=house)

    assert refuses(client.post(READINGS, reading(piece, **said)), pointer, words)


def test_another_houses_piece_is_not_there_in_a_list_either(client, house):
    mine, theirs = factories.PieceFactory(property=house), factories.PieceFactory()

    answer = client.post(READINGS, [reading(mine), reading(theirs)])

    assert refuses(answer, "/1/piece", "does not exist")


@pytest.mark.parametrize("count", [0, 501])
def test_a_list_has_one_to_500_readings(client, house, count):
    piece = factories.PieceFactory(property=house)

    assert client.post(READINGS, [reading(piece)] * count).status_code == 400
    assert not MoistureReading.objects.exists()


def test_a_list_sent_twice_with_a_key_is_noted_once(client, house):
    rows = [reading(factories.PieceFactory(property=house))] * 2

    answers = [client.post(READINGS, rows, HTTP_IDEMPOTENCY_KEY="meter") for _ in range(2)]

    assert answers[0].json() == answers[1].json()
    assert MoistureReading.objects.count() == 2


def test_a_reading_stays_as_it_was_read_and_is_put_right_beside_it(client, house):
    piece = factories.PieceFactory(property=house)

    answer = client.post(
        READINGS, reading(piece, wood_temperature_c=10, species_correction_pct=-1)
    ).json()

    # 0.1 % for each degree under 20 °C (second hand), and what was said of the species.
    assert (answer["measured_pct"], answer["corrected_pct"]) == (22.5, 22.5 + 1.0 - 1.0)


def test_a_slip_is_removed_not_altered(client, house):
    row = factories.MoistureReadingFactory(piece__property=house)

    assert client.patch(f"{READINGS}{row.pk}/", {"measured_pct": 20}).status_code == 405
    assert client.delete(f"{READINGS}{row.pk}/").status_code == 204


def test_readings_are_found_by_house_piece_and_wetness(client, house):
    wet = factories.MoistureReadingFactory(piece__property=house, measured_pct=28)
    dry = factories.MoistureReadingFactory(piece__property=house, measured_pct=16)
    factories.MoistureReadingFactory()

    assert set(ids(client.get(READINGS, {"property": house.pk}))) == {wet.pk, dry.pk}
    assert ids(client.get(READINGS, {"measured_pct__gte": 20})) == [wet.pk]
    assert ids(client.get(READINGS, {"piece": dry.piece_id})) == [dry.pk]
    assert queries_of_list(client, READINGS) <= 4
