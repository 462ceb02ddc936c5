"""Applying, sawing and taking back keep every millimetre: drawn acts on a drawn pile."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.timber.models import Cut, CuttingBar, CuttingPlan, Need, Piece
from apps.timber.services import applying, cuts_made, cutting
from renovation.errors import Problem
from tests import factories

WHEN = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@st.composite
def jobs(draw):
    """Pieces, needs, and how far each cut comes out from what was planned."""
    pieces = draw(
        st.lists(st.tuples(st.integers(700, 3500), st.booleans()), min_size=1, max_size=3)
    )
    needs = draw(
        st.lists(
            st.tuples(st.integers(60, 1500), st.integers(1, 2), st.integers(1, 3)),
            min_size=1, max_size=4,
        )
    )  # fmt: skip
    acts = draw(
        st.lists(
            st.tuples(st.sampled_from(["saw", "saw", "saw", "back", "again"]),
                      st.integers(0, 50), st.integers(-60, 60)),
            max_size=10,
        )
    )  # fmt: skip
    return pieces, needs, acts


def pile_of(house, pieces, needs):
    for number, (length_mm, nailed) in enumerate(pieces, start=1):
        piece = factories.PieceFactory(property=house, mark=f"T{number}", length_mm=length_mm)
        if nailed:
            factories.DefectFactory(
                piece=piece, kind="nails", from_mm=length_mm // 2, to_mm=length_mm // 2 + 30
            )
    for length_mm, quantity, priority in needs:
        factories.NeedFactory(
            property=house, length_mm=length_mm, quantity=quantity, priority=priority,
            moisture_limit_pct=None,
        )  # fmt: skip
    factories.StockLengthFactory(property=house, length_mm=1800, available=2)


def planned(house, replans=None):
    plan = CuttingPlan.objects.create(property=house, seconds=5, replans=replans)
    cutting.solve(plan_id=plan.pk)
    plan.refresh_from_db()
    assert plan.state == "ready", plan.failure
    return plan


def in_force(house):
    return CuttingPlan.objects.filter(property=house, state__in=["applied", "done"]).first()


def act(house, kind, which, off_by):
    """One act of somebody at the saw; refused acts change nothing."""
    plan = in_force(house)
    cuts = Cut.objects.filter(bar__plan=plan, pushed_off_by=None)
    try:
        if kind == "saw" and (waiting := cuts.filter(made_at=None)):
            cut = waiting[which % len(waiting)]
            cuts_made.make_cut(cut=cut, actual_mm=max(cut.length_mm + off_by, 1), at=WHEN)
        elif kind == "back" and (done := cuts.exclude(made_at=None)):
            cuts_made.take_back_cut(cut=done[which % len(done)])
        elif kind == "again" and plan.state == "applied":
            applying.apply_plan(plan=planned(house, replans=plan), at=WHEN)
    except Problem as problem:
        assert problem.code in {  # noqa: PT017
            "cut-out-of-order", "cut-not-last", "offcut-touched", "invalid", "plan-not-applied",
            "cut-replaced",
        }  # fmt: skip


def keeps_every_millimetre(house):
    for bar in CuttingBar.objects.filter(plan__property=house, plan__state__in=["applied", "done"]):
        cuts = [cut for cut in bar.cuts.all() if cut.pushed_off_by_id is None]
        assert all(a.to_mm <= b.from_mm for a, b in pairwise(cuts))
        assert all(cut.to_mm - cut.from_mm == (cut.actual_mm or cut.length_mm) for cut in cuts)
        assert all(cut.from_mm >= 0 and cut.to_mm <= bar.length_mm for cut in cuts)
        good = sum(cut.to_mm - cut.from_mm for cut in cuts if not cut.spoilt)
        assert bar.parts_mm == good
        lost = bar.kerfs_mm + bar.trims_mm + bar.waste_mm
        assert good + bar.offcuts_mm + lost == bar.length_mm
        if bar.sawn_at is not None:
            kept = Piece.objects.filter(cut_from=bar.piece).values_list("length_mm", flat=True)
            assert sum(kept) == bar.offcuts_mm
            assert bar.piece.state == "used"
    for need in Need.objects.filter(property=house):
        made = need.cuts.filter(made_at__isnull=False, spoilt=False).count()
        live = (
            made
            + need.cuts.filter(
                made_at=None, pushed_off_by=None, bar__plan__state__in=["applied", "done"]
            ).count()
        )
        assert live <= need.quantity
        assert need.state == ("met" if made >= need.quantity else "planned" if live else "open")


def snapshot(house):
    return (
        sorted(Piece.objects.filter(property=house).values_list("mark", "state", "length_mm")),
        sorted(Need.objects.filter(property=house).values_list("pk", "state")),
    )


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(jobs())
def test_whatever_is_sawn_and_taken_back_no_millimetre_is_lost(house, drawn):
    pieces, needs, acts = drawn
    with transaction.atomic():
        pile_of(house, pieces, needs)
        applying.apply_plan(plan=planned(house), at=WHEN)
        keeps_every_millimetre(house)
        for kind, which, off_by in acts:
            act(house, kind, which, off_by)
            keeps_every_millimetre(house)
        transaction.set_rollback(True)


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(jobs())
def test_taking_everything_back_leaves_the_pile_as_it_was(house, drawn):
    pieces, needs, acts = drawn
    with transaction.atomic():
        pile_of(house, pieces, needs)
        before = snapshot(house)
        plan = planned(house)
        applying.apply_plan(plan=plan, at=WHEN)
        for _, which, off_by in acts:
            act(house, "saw", which, off_by)
        bought = set(CuttingBar.objects.filter(plan=plan, bought=True).values_list("pk", flat=True))
        for bar in plan.bars.all():
            for cut in bar.cuts.exclude(made_at=None).order_by("-place"):
                cuts_made.take_back_cut(cut=cut)
        plan.refresh_from_db()
        applying.undo_plan(plan=plan)

        arrived = Piece.objects.filter(cutting_bars__in=bought)
        assert set(arrived.values_list("state", flat=True)) <= {"in_stock"}
        arrived.delete()
        assert snapshot(house) == before
        transaction.set_rollback(True)
