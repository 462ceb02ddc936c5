"""Cutting plans over HTTP: what is cut from what, bought, left and missing."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.timber.models import CuttingBar
from tests import factories
from tests.api.asking import ago, refuses
from tests.api.cutting import (
    dry_piece,
    keeps_its_length,
    need,
    only_bar,
    plan,
)

pytestmark = pytest.mark.usefixtures("handed_out")


def test_two_parts_come_from_one_piece_in_sawing_order_with_positions_from_the_marked_end(
    client, house
):
    dry_piece(house, "T14", 2000)
    need(house, "Long noggin", 900)
    need(house, "Short noggin", 400)

    bar = only_bar(plan(client, house))

    assert bar["mark"] == "T14"
    assert [(c["title"], c["from_mm"], c["to_mm"]) for c in bar["cuts"]] == [
        ("Long noggin", 100, 1000),
        ("Short noggin", 1003, 1403),
    ]
    assert [s["sentence"] for s in bar["strokes"]] == [
        "Mark 100 mm from the marked end, saw before the mark: 97 mm of the old end comes off.",
        "Mark 1000 mm from the marked end, saw beyond the mark: “Long noggin”, 900 mm.",
        "Mark 1403 mm from the marked end, saw beyond the mark: “Short noggin”, 400 mm.",
        (
            "Mark 1900 mm from the marked end, saw beyond the mark: 494 mm is left over and goes "
            "back on the pile."
        ),
    ]
    assert keeps_its_length(bar)


def test_no_part_is_cut_across_nails(client, house):
    dry_piece(house, "T14", 2000, defects=[("nails", 950, 1050)])
    need(house, "Noggin", 700, quantity=2)

    bar = only_bar(plan(client, house))

    assert [(c["from_mm"], c["to_mm"]) for c in bar["cuts"]] == [(100, 800), (1075, 1775)]


def test_what_the_pile_does_not_give_is_bought_and_costed(client, house):
    stock = factories.StockLengthFactory(
        property=house, length_mm=2400, supplier="Creekside Timber",
        price_pence_per_m=None, price_pence_per_length=850,
    )  # fmt: skip
    need(house, "Noggin", 1100, quantity=3)

    answer = plan(client, house)

    (buy,) = answer["buy"]
    assert (buy["stock"], buy["count"], buy["cost_pence"]) == (stock.pk, 2, 1700)
    assert [bar["mark"] for bar in answer["bars"]] == ["new 1", "new 2"]
    assert answer["unmet"] == []


def test_a_need_longer_than_anything_is_unmet_and_the_smallest_change_is_said(client, house):
    dry_piece(house, "T14", 2000)
    factories.StockLengthFactory(property=house, length_mm=1500)
    wanted = need(house, "Trimmer packing", 1860)

    answer = plan(client, house)

    (missing,) = answer["unmet"]
    assert (missing["need"], missing["count"]) == (wanted.pk, 1)
    assert missing["changes"][0]["figures"]["mm"] == 60
    assert "a piece 60 mm longer than the 1800 mm sound and free in T14" in missing["sentence"]


def test_a_piece_that_is_too_wet_by_the_day_is_left_and_waiting_is_said(client, house):
    piece = factories.PieceFactory(property=house, mark="T3", length_mm=2000, stored="dry")
    factories.MoistureReadingFactory(piece=piece, measured_pct=26, read_at=ago(1))
    need(house, "Noggin", 400, needed_by=ago(-24).date())

    answer = plan(client, house)

    assert answer["bars"] == []
    (change,) = answer["unmet"][0]["changes"]
    assert change["kind"] == "wait"
    assert change["figures"]["days"] > 0


def test_a_piece_that_dries_in_time_is_used(client, house):
    piece = factories.PieceFactory(property=house, mark="T3", length_mm=2000, stored="dry")
    factories.MoistureReadingFactory(piece=piece, measured_pct=22, read_at=ago(1))
    need(house, "Noggin", 400, needed_by=ago(-24 * 300).date())

    assert only_bar(plan(client, house))["mark"] == "T3"


def test_ripping_counts_as_cost_and_is_said_at_the_cut(client, house):
    dry_piece(house, "T8", 2000, breadth_mm=75, depth_mm=125)
    need(house, "Noggin", 500)

    answer = plan(client, house, ripping_pence_per_m=300)

    (cut,) = only_bar(answer)["cuts"]
    assert cut["rip_depth_mm"] == 100
    assert "ripped" in cut["sentence"]
    assert next(one["value"] for one in answer["objective"] if one["name"] == "cost") == 150


def test_the_settings_of_a_plan_are_its_own(client, house):
    dry_piece(house, "T14", 2000)
    need(house, "Noggin", 500, quantity=2)

    bar = only_bar(plan(client, house, kerf_mm=5, end_trim_mm=60, least_offcut_mm=1000))

    assert [cut["from_mm"] for cut in bar["cuts"]] == [60, 565]
    assert (bar["offcuts_mm"], bar["waste_mm"] + bar["trims_mm"]) == (0, 55 + 930)


def test_needs_and_pieces_may_be_named(client, house):
    dry_piece(house, "T1", 2000)
    second = dry_piece(house, "T2", 2000)
    need(house, "Other", 500)
    wanted = need(house, "Noggin", 500)

    answer = plan(client, house, needs=[wanted.pk], pieces=[second.pk])

    assert only_bar(answer)["mark"] == "T2"
    assert [row["need"] for row in answer["by_need"]] == [wanted.pk]


@pytest.mark.parametrize(
    ("fields", "pointer", "words"),
    [
        ({"seconds": 0}, "/seconds", "0.1"),
        ({"seconds": 1e9}, "/seconds", "60"),
        ({"kerf_mm": -1}, "/kerf_mm", ""),
        ({"kerf_mm": 3.2}, "/kerf_mm", "whole millimetres"),
        ({"end_trim_mm": 5000}, "", "at most 1000"),
        ({"least_offcut_mm": 1}, "", "50 to 5000"),
        ({"needs": [987654]}, "/needs", "does not exist"),
        ({"pieces": "T1"}, "/pieces", ""),
        ({"replans": 987654}, "/replans", "does not exist"),
    ],
)
def test_a_bad_question_is_refused_with_a_pointer(client, house, fields, pointer, words):
    answer = client.post("/api/v1/cutting-plans/", {"property": house.pk, **fields})

    assert refuses(answer, pointer, words), answer.json()


def test_a_need_that_is_met_is_not_planned_again(client, house):
    wanted = need(house, "Noggin", 500, state="met", state_reason="From the yard")

    answer = client.post("/api/v1/cutting-plans/", {"property": house.pk, "needs": [wanted.pk]})

    assert refuses(answer, "/needs", "is met")


def test_a_plan_that_stopped_says_so_and_leaves_nothing(client, house, monkeypatch):
    from apps.timber.services import cutting

    monkeypatch.setattr(cutting, "ask", lambda *_, **__: 1 / 0)

    answer = client.post("/api/v1/cutting-plans/", {"property": house.pk})

    assert answer.status_code == 201
    assert answer.json()["state"] == "failed"
    assert "nothing was changed" in answer.json()["failure"]


def test_one_plan_takes_as_many_queries_however_many_bars(client, house):
    def queries(made):
        with CaptureQueriesContext(connection) as caught:
            client.get(f"/api/v1/cutting-plans/{made['id']}/")
        return len(caught)

    few = factories.CuttingPlanFactory(property=house)
    many = factories.CuttingPlanFactory(property=house)
    for made, count in ((few, 1), (many, 4)):
        for _ in range(count):
            factories.CutFactory(bar__plan=made)

    assert queries({"id": few.pk}) == queries({"id": many.pk})


def test_a_bar_never_loses_or_gains_a_millimetre(house):
    from django.db import IntegrityError, transaction

    bar = factories.CuttingBarFactory(plan__property=house)

    with pytest.raises(IntegrityError), transaction.atomic():
        CuttingBar.objects.filter(pk=bar.pk).update(waste_mm=1)
