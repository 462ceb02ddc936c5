"""Planning again: what is pinned or sawn stays."""

from __future__ import annotations

import pytest

from apps.timber.models import Piece
from apps.work.models import Supply
from tests import factories
from tests.api.asking import ago, is_problem
from tests.api.cutting import (
    apply,
    cuts_of,
    dry_piece,
    keeps_its_length,
    made,
    need,
    only_bar,
    plan,
    read,
    take_back,
    undo,
)

pytestmark = pytest.mark.usefixtures("handed_out")


@pytest.fixture
def applied(client, house):
    """T14, 2000 mm: a long part, a short one, and 494 mm left over."""
    dry_piece(house, "T14", 2000, defects=[("knot", 1500, 1540)], grade_basis="assumed")
    need(house, "Long noggin", 900)
    need(house, "Short noggin", 400, priority=1)
    made = plan(client, house)
    return apply(client, made).json()


def test_a_pinned_cut_stays_on_its_bar_when_the_plan_is_made_again(client, house):
    dry_piece(house, "T1", 2000)
    need(house, "Noggin", 500)
    first = plan(client, house)
    (cut,) = cuts_of(first)
    client.post(f"/api/v1/cuts/{cut['id']}/pin/")
    dry_piece(house, "T2", 703)

    again, free = plan(client, house, replans=first["id"]), plan(client, house)

    assert [bar["mark"] for bar in again["bars"]] == ["T1"]
    assert again["bars"][0]["cuts"][0]["pinned"]
    assert [bar["mark"] for bar in free["bars"]] == ["T2"]


def test_unpinning_lets_it_go(client, house):
    dry_piece(house, "T1", 2000)
    need(house, "Noggin", 500)
    (cut,) = cuts_of(plan(client, house))
    client.post(f"/api/v1/cuts/{cut['id']}/pin/")

    answer = client.post(f"/api/v1/cuts/{cut['id']}/unpin/")

    assert answer.json()["pinned"] is False


def test_planning_again_goes_on_from_what_is_sawn(client, applied, house):
    long, _ = cuts_of(applied)
    made(client, long, 880)

    again = plan(client, house, replans=applied["id"])

    bar = only_bar(again)
    assert bar["mark"] == "T14"
    assert [c["title"] for c in bar["cuts"]] == ["Short noggin"]
    assert bar["cuts"][0]["from_mm"] == 983
    assert [one["title"] for one in again["unmet"]] == ["Long noggin"]
    answer = apply(client, again).json()
    assert [c["title"] for c in only_bar(answer)["cuts"]] == ["Long noggin", "Short noggin"]
    assert keeps_its_length(only_bar(answer))
    assert read(client, applied)["state"] == "replaced"
    finished = made(client, only_bar(answer)["cuts"][1], 400)
    assert finished.status_code == 200
    assert set(Piece.objects.filter(cut_from__mark="T14").values_list("length_mm", flat=True)) == {
        880, 1900 - 1386,
    }  # fmt: skip


def test_sawing_on_while_it_was_planned_again_makes_that_plan_out_of_date(client, applied, house):
    long, short = cuts_of(applied)
    made(client, long, 900)
    again = plan(client, house, replans=applied["id"])
    made(client, short, 400)

    assert is_problem(apply(client, again), 409, "plan-out-of-date")
    assert next(stroke["frees"] for stroke in only_bar(read(client, again))["strokes"]) == "trim"


def test_a_spoilt_cut_whose_part_is_planned_anew_is_not_taken_back(client, house):
    dry_piece(house, "T14", 700)
    need(house, "Noggin", 400)
    (spoilt,) = cuts_of(apply(client, plan(client, house)).json())
    made(client, spoilt, 380)
    dry_piece(house, "T15", 2000)
    apply(client, plan(client, house))

    assert is_problem(take_back(client, spoilt), 409, "cut-replaced")


def test_a_plan_made_again_shows_what_is_sawn_before_it_is_applied(client, applied, house):
    long, _ = cuts_of(applied)
    made(client, long, 900)

    (bar,) = plan(client, house, replans=applied["id"])["bars"]

    assert [(stroke["at_mm"], stroke["frees"]) for stroke in bar["strokes"]] == [
        (100, "trim"), (1000, "part"), (1403, "part"), (1900, "offcut"),
    ]  # fmt: skip
    assert bar["strokes"][1]["cut"] == long["id"]


def test_undoing_a_plan_that_replaced_another_makes_that_one_ready_again(client, house):
    dry_piece(house, "T1", 2000)
    need(house, "Noggin", 500)
    first = apply(client, plan(client, house)).json()
    again = plan(client, house, replans=first["id"])
    apply(client, again)

    undo(client, again)

    assert (read(client, first)["state"], read(client, again)["state"]) == ("ready", "ready")
    assert Piece.objects.get(mark="T1").state == "in_stock"


def test_bought_timber_that_has_arrived_is_not_bought_again(client, house):
    factories.StockLengthFactory(property=house, length_mm=2400)
    need(house, "Noggin", 500)
    first = plan(client, house)
    apply(client, first)
    Supply.objects.update(arrived_at=ago(1))

    again = plan(client, house, replans=first["id"])

    assert again["buy"] == []
    assert only_bar(again)["mark"] == "N1"
    assert apply(client, again).status_code == 200
    assert Supply.objects.count() == 1
