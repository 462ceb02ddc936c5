"""The demo's pile and its cutting plan."""

from __future__ import annotations

from datetime import date

import pytest

from apps.planning import demo
from apps.timber.models import Cut, CuttingPlan, Need, Piece
from apps.work.models import Supply
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan():
    house = demo.load_demo(owner=UserFactory(), today=date(2026, 11, 23))
    return CuttingPlan.objects.get(property=house)


def test_the_pile_is_22_pieces_and_the_plan_takes_some_of_them(plan):
    pile = Piece.objects.filter(property=plan.property)

    assert [piece.mark for piece in pile] == [f"T{number}" for number in range(1, 23)]
    reserved = pile.filter(state="reserved")
    assert {piece.mark for piece in reserved} == {
        bar.mark for bar in plan.bars.filter(bought=False)
    }
    assert plan.state == "applied"
    assert reserved


def test_one_joist_end_is_of_a_piece_still_wet_that_dries_in_time(plan):
    wet = Cut.objects.filter(bar__plan=plan, sentence__contains="it is wet now")

    assert {cut.bar.mark for cut in wet} == {"T11"}
    assert all(cut.need.needed_by is not None for cut in wet)


def test_what_is_missing_is_said_and_what_is_bought_comes_as_a_supply(plan):
    assert len(plan.unmet) == 2
    assert all(row["changes"] for row in plan.unmet)
    joist_end = next(row for row in plan.unmet if row["title"].startswith("J7"))
    assert "a piece 230 mm longer than the 1250 mm sound and free in T12" in joist_end["sentence"]
    assert "J7's lap reduced to 600 mm, which " in joist_end["sentence"]
    assert set(Need.objects.filter(pk__in=[row["need"] for row in plan.unmet]).values_list(
        "state", flat=True)) == {"open"}  # fmt: skip
    supply = Supply.objects.get(title__startswith="Timber: ")
    assert [task.title for task in supply.tasks.all()] == ["Board the shower walls"]
