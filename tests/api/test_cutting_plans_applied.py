"""Applying cutting plans and taking that back."""

from __future__ import annotations

import pytest

from apps.timber.models import Piece
from apps.work.models import Supply
from tests import factories
from tests.api.asking import ago, is_problem
from tests.api.cutting import (
    apply,
    dry_piece,
    need,
    plan,
    read,
    undo,
)

pytestmark = pytest.mark.usefixtures("handed_out")


def test_applying_reserves_the_pieces_and_plans_the_needs(client, house):
    piece = dry_piece(house, "T14", 2000)
    wanted = need(house, "Noggin", 500)

    answer = apply(client, plan(client, house))

    assert answer.status_code == 200
    assert answer.json()["state"] == "applied"
    piece.refresh_from_db()
    wanted.refresh_from_db()
    assert (piece.state, wanted.state) == ("reserved", "planned")


def test_what_is_to_be_bought_becomes_a_supply_that_the_needs_tasks_wait_for(client, house):
    factories.StockLengthFactory(property=house, length_mm=2400, supplier="Creekside Timber")
    task = factories.TaskFactory(package__property=house)
    need(house, "Noggin", 1100, quantity=3, task=task)

    answer = apply(client, plan(client, house), expected_on="2026-12-03")

    supply = Supply.objects.get()
    assert answer.status_code == 200
    assert supply.title == "Timber: 2 of 47 × 100 × 2400 mm"
    assert (supply.supplier, str(supply.expected_on)) == ("Creekside Timber", "2026-12-03")
    assert list(supply.tasks.all()) == [task]


def test_a_piece_that_another_plan_has_is_refused_and_nothing_is_half_applied(client, house):
    dry_piece(house, "T1", 700)
    dry_piece(house, "T2", 800)
    long, short = need(house, "Long", 580), need(house, "Short", 450)
    both = plan(client, house)
    only = plan(client, house, needs=[long.pk])
    apply(client, only)

    answer = apply(client, both)

    assert is_problem(answer, 409, "piece-taken")
    assert answer.json()["plan"] == only["id"]
    assert answer.json()["piece"]["mark"] == "T2"
    assert sorted(Piece.objects.values_list("mark", "state")) == [
        ("T1", "in_stock"), ("T2", "reserved"),
    ]  # fmt: skip
    short.refresh_from_db()
    assert short.state == "open"
    assert read(client, both)["state"] == "ready"


def test_two_plans_without_a_piece_or_need_in_common_are_both_applied(client, house):
    first, second = dry_piece(house, "T1", 700), dry_piece(house, "T2", 700)
    one, other = need(house, "One", 450), need(house, "Other", 450)
    plans = [
        plan(client, house, needs=[one.pk], pieces=[first.pk]),
        plan(client, house, needs=[other.pk], pieces=[second.pk]),
    ]

    assert [apply(client, made).status_code for made in plans] == [200, 200]


def test_a_need_is_not_planned_twice(client, house):
    first, second = dry_piece(house, "T1", 700), dry_piece(house, "T2", 700)
    need(house, "One", 450)
    plans = [plan(client, house, pieces=[piece.pk]) for piece in (first, second)]
    apply(client, plans[0])

    answer = apply(client, plans[1])

    assert is_problem(answer, 409, "plan-out-of-date")


def test_a_defect_noted_since_where_it_would_be_cut_makes_the_plan_out_of_date(client, house):
    piece = dry_piece(house, "T14", 2000)
    need(house, "Noggin", 500)
    made = plan(client, house)
    factories.DefectFactory(piece=piece, kind="split", from_mm=300, to_mm=400)

    answer = apply(client, made)

    assert is_problem(answer, 409, "plan-out-of-date")
    assert "T14" in answer.json()["detail"]


def test_a_piece_that_went_off_the_pile_makes_the_plan_out_of_date(client, house):
    piece = dry_piece(house, "T14", 2000)
    need(house, "Noggin", 500)
    made = plan(client, house)
    client.delete(f"/api/v1/timber-pieces/{piece.pk}/")

    assert is_problem(apply(client, made), 409, "plan-out-of-date")
    assert client.get(f"/api/v1/cutting-plans/{made['id']}/").status_code == 200


def test_undo_frees_the_pieces_opens_the_needs_and_cancels_what_was_to_be_bought(client, house):
    piece = dry_piece(house, "T14", 700)
    factories.StockLengthFactory(property=house, length_mm=2400)
    first, second = need(house, "Noggin", 500), need(house, "Plate", 1100)
    made = plan(client, house)
    apply(client, made)

    answer = undo(client, made)

    assert answer.json()["state"] == "ready"
    for row in (piece, first, second):
        row.refresh_from_db()
    assert (piece.state, first.state, second.state) == ("in_stock", "open", "open")
    assert not Supply.objects.exists()
    assert apply(client, made).status_code == 200


def test_bought_timber_that_has_arrived_is_not_undone(client, house):
    factories.StockLengthFactory(property=house, length_mm=2400)
    need(house, "Noggin", 500)
    made = plan(client, house)
    apply(client, made)
    Supply.objects.update(arrived_at=ago(1))

    assert is_problem(undo(client, made), 409, "supply-arrived")


def test_a_plan_is_applied_once(client, house):
    made = plan(client, house)
    apply(client, made)

    assert is_problem(apply(client, made), 409, "wrong-step")
