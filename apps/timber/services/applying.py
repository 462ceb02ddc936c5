"""Applying a cutting plan and taking that back: pieces, needs and supplies with it.

All of it or nothing, in one transaction. Rows are locked in one order everywhere, so that two
people never wait for each other for ever: plans, the newest first, cuts, pieces, needs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from apps.timber.loading_cuts import STILL_WANTED, cuts_in_force, settings_of
from apps.timber.models import CuttingBar, CuttingPlan, Need, Piece
from apps.timber.pieces_as_data import PieceState
from apps.timber.selectors import with_all
from apps.timber.services.cutting import columns
from apps.timber.services.needs_met import count_needs
from apps.timber.services.sawn import finish_bar, is_sound, stretches_of
from apps.work.models import Supply
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem

State = CuttingPlan.State
PLAN_STEPS: Steps = {
    "queued": {},
    "solving": {},
    "ready": {"apply": "applied"},
    "failed": {},
    "applied": {"undo": "ready"},
    "done": {},
    "replaced": {},
}
LONGEST_TITLE = 120


@transaction.atomic
def apply_plan(*, plan: CuttingPlan, at: datetime, expected_on: date | None = None) -> CuttingPlan:
    """Reserve a plan's pieces, and note what is to be bought as supplies of the needs' tasks.

    A plan that replans another takes its place: what that one had and this one does not need
    is free again, and what was sawn stays.

    Args:
        at: when.
        expected_on: the day the bought timber is expected.

    Raises:
        Problem: `wrong-step` unless it is ready; `piece-taken` when another plan has one of its
            pieces; `plan-out-of-date` when a piece, a need or a cut changed since.
    """
    lock(plan)
    before = plan.replans
    if before is not None:
        lock(before)
        if before.state not in {State.READY, State.APPLIED}:
            raise out_of_date(plan, f"{before} is {before.state} now")
    state = next_state(PLAN_STEPS, plan.state, "apply", name=str(plan).capitalize())
    bars = list(plan.bars.select_related("piece").prefetch_related("cuts__need"))
    keys = lock_pieces(bars, before)
    replaces = before is not None and before.state == State.APPLIED
    begun = release(plan, before, bars) if before is not None and replaces else {}
    pieces = with_all(Piece.objects.filter(pk__in=keys)).in_bulk()
    refuse_what_is_gone(plan, bars)
    refuse_taken(plan, bars, pieces, begun)
    refuse_unsound(plan, bars, pieces)
    needs = locked_needs(bars)
    refuse_what_is_met(plan, bars, needs)
    for bar in bars:
        if bar.piece_id is not None and bar.pk not in begun:
            pieces[bar.piece_id].change(state=PieceState.RESERVED)
    order_bought(plan, bars, expected_on)
    plan.change(state=state, applied_at=at)
    carry_over(begun, at)
    if before is not None and replaces:
        needs |= locked_needs(before.bars.prefetch_related("cuts__need"))
        before.change(state=State.REPLACED)
    count_needs(needs.values())
    return plan


@transaction.atomic
def undo_plan(*, plan: CuttingPlan) -> CuttingPlan:
    """Take an application back: pieces in stock, needs open, what was to be bought not.

    A plan that it replaced is ready again, to be applied again.

    Raises:
        Problem: `wrong-step` unless it is applied; `cut-made-already` once a cut is recorded as
            made; `supply-arrived` when the bought timber is here.
    """
    lock(plan)
    if plan.replans is not None:
        lock(plan.replans)
    state = next_state(PLAN_STEPS, plan.state, "undo", name=str(plan).capitalize())
    bars = list(plan.bars.select_related("piece", "supply").prefetch_related("cuts__need"))
    made = next((cut for bar in bars for cut in bar.cuts.all() if cut.made_at is not None), None)
    if made is not None:
        raise Problem(
            "cut-made-already",
            f"{made} is sawn; take that cut back first, or plan again from here.",
            cut=made.pk,
        )
    supplies = {bar.supply for bar in bars if bar.supply is not None}
    if here := next((supply for supply in supplies if supply.arrived_at is not None), None):
        raise Problem(
            "supply-arrived",
            f"“{here}” has arrived: it is timber of the house now. Plan again instead.",
            supply=here.pk,
        )
    lock_pieces(bars, None)
    free(bars)
    for supply in supplies:
        supply.delete()
    needs = locked_needs(bars)
    plan.change(state=state, applied_at=None)
    if plan.replans is not None and plan.replans.state == State.REPLACED:
        plan.replans.change(state=State.READY, applied_at=None)
    count_needs(needs.values())
    return plan


def lock_pieces(bars: Iterable[CuttingBar], before: CuttingPlan | None) -> list[int]:
    """Keep the pieces of the bars, and of the plan before, from changing; their ids."""
    asked = {bar.piece_id for bar in bars}
    if before is not None:
        asked |= set(before.bars.values_list("piece", flat=True))
    keys = [key for key in asked if key is not None]
    list(Piece.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk"))
    return keys


def locked_needs(bars: Iterable[CuttingBar]) -> dict[int, Need]:
    keys = {cut.need_id for bar in bars for cut in bar.cuts.all() if cut.need_id is not None}
    rows = Need.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk")
    return {need.pk: need for need in rows}


def refuse_what_is_gone(plan: CuttingPlan, bars: Iterable[CuttingBar]) -> None:
    for bar in bars:
        if bar.piece_id is None and not bar.bought:
            raise out_of_date(plan, f"{bar.mark} is not on the pile any more")
        for cut in bar.cuts.all():
            if cut.need is None or cut.need.length_mm != cut.length_mm:
                raise out_of_date(plan, f"“{cut.title}” is not wanted any more as it was")


def out_of_date(plan: CuttingPlan, why: str) -> Problem:
    return Problem("plan-out-of-date", f"{why}, so {plan} does not hold; make another.")


def refuse_taken(
    plan: CuttingPlan,
    bars: Sequence[CuttingBar],
    pieces: dict[int, Piece],
    begun: dict[int, CuttingBar],
) -> None:
    """Refuse pieces that are not free, and say who has them."""
    for bar in bars:
        if bar.piece_id is None or bar.pk in begun:
            continue
        piece = pieces[bar.piece_id]
        if piece.state == PieceState.IN_STOCK:
            continue
        holder = CuttingBar.objects.filter(
            piece=piece, plan__state__in=(State.APPLIED, State.DONE)
        ).exclude(plan=plan).select_related("plan").first()  # fmt: skip
        whose = f" for {holder.plan}" if holder else ""
        raise Problem(
            "piece-taken",
            f"{piece} is {piece.state.replace('_', ' ')}{whose}, so {plan} cannot have it.",
            piece={"id": piece.pk, "mark": piece.mark},
            plan=holder.plan_id if holder else None,
        )


def refuse_unsound(plan: CuttingPlan, bars: Iterable[CuttingBar], pieces: dict[int, Piece]) -> None:
    """Refuse cuts that would cross a defect noted since, or a piece that was measured again."""
    runs = settings_of(plan).runs
    for bar in bars:
        if bar.piece_id is None:
            continue
        piece = pieces[bar.piece_id]
        if (piece.breadth_mm, piece.depth_mm, piece.length_mm) != (
            bar.breadth_mm, bar.depth_mm, bar.length_mm,
        ):  # fmt: skip
            raise out_of_date(plan, f"{piece} was measured again")
        for cut in bar.cuts.all():
            if cut.made_at is None and not is_sound(cut, piece, runs):
                raise out_of_date(
                    plan, f"something was noted on {piece} where “{cut.title}” would be cut"
                )


def refuse_what_is_met(
    plan: CuttingPlan, bars: Iterable[CuttingBar], needs: dict[int, Need]
) -> None:
    """Refuse parts that nobody wants any more, or that another plan has meanwhile."""
    taken = cuts_in_force(needs.values(), besides=plan.replans)
    for bar in bars:
        for cut in bar.cuts.all():
            if cut.need_id is not None and cut.made_at is None:
                taken[cut.need_id] += 1
    for need in needs.values():
        if need.state not in STILL_WANTED:
            raise out_of_date(plan, f"“{need}” is {need.state}")
        if taken[need.pk] > need.quantity:
            raise out_of_date(plan, f"“{need}” is planned or cut already")


def release(
    plan: CuttingPlan, before: CuttingPlan, bars: Sequence[CuttingBar]
) -> dict[int, CuttingBar]:
    """Free what the plan before had reserved; what it has begun goes over.

    Returns:
        The bars of the plan before that are sawn in part, by the new plan's bar.
    """
    new = {bar.piece_id: bar for bar in bars if bar.piece_id is not None}
    begun: dict[int, CuttingBar] = {}
    untouched = []
    for bar in before.bars.filter(sawn_at=None).select_related("piece", "supply"):
        made = [cut for cut in bar.cuts.all() if cut.made_at is not None]
        if not made:
            untouched.append(bar)
            continue
        follows = new.get(bar.piece_id) if bar.piece_id is not None else None
        if follows is None or any(
            cut.place <= made[-1].place or cut.from_mm < made[-1].to_mm + before.kerf_mm
            for cut in follows.cuts.all()
        ):
            raise out_of_date(plan, f"{bar.mark} was sawn further since")
        begun[follows.pk] = bar
    for bar in bars:
        places = {cut.place for cut in bar.cuts.all()}
        if bar.piece_id is not None and bar.pk not in begun and 0 not in places:
            raise out_of_date(plan, f"a cut of {bar.mark} was taken back since")
    free(untouched)
    for supply in {bar.supply for bar in untouched if bar.supply is not None}:
        if supply.arrived_at is None:
            supply.delete()
    return begun


def free(bars: Iterable[CuttingBar]) -> None:
    """Reserved pieces are in stock again."""
    for bar in bars:
        if bar.piece is not None:
            bar.piece.refresh_from_db()
            if bar.piece.state == PieceState.RESERVED:
                bar.piece.change(state=PieceState.IN_STOCK)


def carry_over(begun: dict[int, CuttingBar], at: datetime) -> None:
    """What is sawn of a bar goes over to the new plan's bar; one with nothing left is finished."""
    for key, old in begun.items():
        new = CuttingBar.objects.select_related("plan", "piece").get(pk=key)
        old.cuts.filter(made_at__isnull=False).update(bar=new)
        if not new.cuts.filter(made_at=None, pushed_off_by=None).exists():
            finish_bar(bar=new, at=at)
        else:
            new.change(**columns(stretches_of(new)))


def order_bought(plan: CuttingPlan, bars: Iterable[CuttingBar], expected_on: date | None) -> None:
    """A supply for each supplier, which the tasks of the parts cut from it wait for."""
    by_supplier: dict[str, list[CuttingBar]] = defaultdict(list)
    for bar in bars:
        if bar.bought and bar.piece_id is None:
            by_supplier[bar.stock.supplier if bar.stock else ""].append(bar)
    for supplier, bought in sorted(by_supplier.items()):
        supply = Supply.objects.create(
            property_id=plan.property_id,
            title=supply_title(bought),
            supplier=supplier,
            expected_on=expected_on,
        )
        tasks = {
            cut.need.task_id for bar in bought for cut in bar.cuts.all() if cut.need is not None
        }
        supply.tasks.set([task for task in tasks if task is not None])
        for bar in bought:
            bar.change(supply=supply)


def supply_title(bars: Iterable[CuttingBar]) -> str:
    counts: dict[tuple[int, int, int], int] = defaultdict(int)
    for bar in bars:
        counts[bar.breadth_mm, bar.depth_mm, bar.length_mm] += 1
    told: list[Any] = [
        f"{count} of {breadth} × {depth} × {length} mm"
        for (breadth, depth, length), count in sorted(counts.items())
    ]
    title = f"Timber: {', '.join(told)}"
    return title if len(title) <= LONGEST_TITLE else f"{title[: LONGEST_TITLE - 1]}…"
