"""Sawing, recorded cut by cut in order; pins; and taking the last cut back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from apps.timber.layout import ranks
from apps.timber.loading import need_data
from apps.timber.loading_cuts import cuts_in_force, settings_of
from apps.timber.models import Cut, CuttingBar, CuttingPlan, Need, Piece
from apps.timber.pieces_as_data import PieceState
from apps.timber.sawing import Planned, shifted
from apps.timber.services.arrivals import take_in
from apps.timber.services.cutting import columns
from apps.timber.services.needs_met import count_needs
from apps.timber.services.sawn import finish_bar, is_sound, stretches_of, unfinish_bar
from apps.work.steps import lock
from renovation.errors import Problem, field_problem

State = CuttingPlan.State


@transaction.atomic
def make_cut(*, cut: Cut, actual_mm: int, at: datetime) -> Cut:
    """Record that a part is sawn, and how long it came out.

    What is still to be sawn from the bar moves along; what finds no room any more is left out,
    and its need is open again. With the last cut of a bar its offcuts go on the pile.

    Args:
        actual_mm: as measured.
        at: when.

    Raises:
        Problem: `plan-not-applied`; `cut-made-already`; `cut-out-of-order` while one before it
            is not sawn; `cut-pushed-off` when it has no room; `invalid` at `/actual_mm` for
            more than is left of the bar.
    """
    bar, cuts = locked_bar(cut)
    if cut.pushed_off_by_id is not None:
        raise Problem("cut-pushed-off", f"{cut} has no room on the bar any more; plan again.")
    if cut.made_at is not None:
        raise Problem(
            "cut-made-already",
            f"{cut} is recorded as sawn already, {cut.actual_mm} mm long.",
            cut=cut.pk,
            actual_mm=cut.actual_mm,
        )
    refuse_unless_applied(bar.plan, (State.APPLIED,))
    waiting = [one for one in cuts if one.made_at is None]
    if waiting[0].pk != cut.pk:
        raise Problem(
            "cut-out-of-order",
            f"{waiting[0]} comes first: the tape starts from the marked end.",
            cut=waiting[0].pk,
        )
    if cut.from_mm + actual_mm > bar.length_mm:
        raise field_problem(
            "/actual_mm",
            f"{bar} has only {bar.length_mm - cut.from_mm} mm left from there.",
        )
    begin_bar(bar)
    to_mm = cut.from_mm + actual_mm
    cut.change(actual_mm=actual_mm, made_at=at, to_mm=to_mm)
    why = why_spoilt(cut, bar)
    lost = move_along(cut, waiting[1:], at_mm=to_mm, kerf_mm=bar.plan.kerf_mm)
    if why or lost:
        cut.change(spoilt=bool(why), told=what_came_of_it(cut, why, lost))
    settle(bar, cuts, at)
    return cut


@transaction.atomic
def take_back_cut(*, cut: Cut) -> Cut:
    """Take back the last cut recorded of a bar: it was noted by mistake.

    What it pushed off is planned again; the bar's offcuts go with it, if nobody touched them.

    Raises:
        Problem: `cut-not-made`; `cut-not-last`; `offcut-touched`; `cut-replaced` when what it
            spoilt or pushed off is planned anew; `plan-not-applied` when the plan was replaced.
    """
    bar, cuts = locked_bar(cut)
    refuse_unless_applied(bar.plan, (State.APPLIED, State.DONE))
    if cut.made_at is None:
        raise Problem("cut-not-made", f"{cut} is not recorded as sawn.")
    made = [one for one in cuts if one.made_at is not None]
    if made[-1].pk != cut.pk:
        raise Problem(
            "cut-not-last", f"{made[-1]} was sawn after it; take that back first.", cut=made[-1].pk
        )
    if bar.sawn_at is not None:
        unfinish_bar(bar=bar)
    cut.pushed_off.update(pushed_off_by=None)
    cut.change(
        actual_mm=None, made_at=None, spoilt=False, told="", to_mm=cut.from_mm + cut.length_mm
    )
    before = made[-2].to_mm if len(made) > 1 else 0
    again = list(bar.cuts.filter(made_at=None, pushed_off_by=None).select_related("need"))
    move_along(cut, again, at_mm=before, kerf_mm=bar.plan.kerf_mm)
    if len(made) == 1 and bar.piece is not None:
        bar.piece.refresh_from_db()
        bar.piece.change(state=PieceState.RESERVED)
    bar.change(**columns(stretches_of(bar)))
    bar.plan.change(state=State.APPLIED)
    refuse_too_many(cut, needs_of([*cuts, *again]))
    count_needs(needs_of([*cuts, *again]))
    cut.refresh_from_db()
    return cut


def refuse_too_many(cut: Cut, needs: Sequence[Need]) -> None:
    """Refuse to bring parts back that somebody has planned again meanwhile."""
    counts = cuts_in_force(needs)
    if twice := next((need for need in needs if counts[need.pk] > need.quantity), None):
        raise Problem(
            "cut-replaced",
            f"“{twice}” was planned anew after {cut} was recorded, so the record stands.",
            need=twice.pk,
        )


@transaction.atomic
def pin_cut(*, cut: Cut, pinned: bool) -> Cut:
    """Pin a part to its bar, so that planning again leaves it there; or let it go.

    Raises:
        Problem: `cut-made-already`; `cut-pushed-off`; `plan-not-applied` when the plan was
            replaced or failed.
    """
    bar, _ = locked_bar(cut)
    refuse_unless_applied(bar.plan, (State.READY, State.APPLIED))
    if cut.made_at is not None:
        raise Problem("cut-made-already", f"{cut} is sawn; it stays anyway.", cut=cut.pk)
    if pinned and cut.pushed_off_by_id is not None:
        raise Problem("cut-pushed-off", f"{cut} has no room on the bar any more; plan again.")
    cut.change(pinned=pinned)
    bar.plan.change()
    return cut


def locked_bar(cut: Cut) -> tuple[CuttingBar, list[Cut]]:
    """The bar of a cut and the cuts along it that count, as they are now and kept so."""
    plan = lock_plan(cut)
    lock(cut)
    bar = CuttingBar.objects.select_related("stock").get(pk=cut.bar_id)
    if bar.plan_id != plan.pk:
        raise Problem("plan-not-applied", f"{plan} was replaced; look at {cut} again.")
    bar.plan = plan
    if bar.piece_id is not None:
        bar.piece = Piece.objects.select_for_update(no_key=True).get(pk=bar.piece_id)
    cuts = [cut if one.pk == cut.pk else one for one in bar.cuts.select_related("need")]
    for one in cuts:
        one.bar = bar
    return bar, [one for one in cuts if one.pushed_off_by_id is None]


def lock_plan(cut: Cut) -> CuttingPlan:
    """Keep others from changing the plan of a cut: first of all, before any of its rows."""
    plans = CuttingPlan.objects.select_for_update(no_key=True)
    return plans.get(pk=CuttingBar.objects.values_list("plan", flat=True).get(cuts=cut.pk))


def refuse_unless_applied(plan: CuttingPlan, states: Sequence[str]) -> None:
    if plan.state not in states:
        raise Problem(
            "plan-not-applied",
            f"{plan} is {plan.state}; apply one before anything is recorded of its cuts.",
            state=plan.state,
        )


def begin_bar(bar: CuttingBar) -> None:
    """Its piece is being cut; a bought one is on the pile from now on."""
    piece = bar.piece or take_in(bar=bar)
    if piece.state != PieceState.CUT:
        piece.change(state=PieceState.CUT)


def move_along(cut: Cut, rest: Sequence[Cut], *, at_mm: int, kerf_mm: int) -> list[Cut]:
    """Move what is still to be sawn to where the bar now lets it begin.

    Returns:
        Those that find no room any more: they count no more.
    """
    needs = {one.need.pk: need_data(one.need) for one in rest if one.need is not None}
    order = ranks(needs.values())
    last = len(order)
    begins, out = shifted(
        [
            Planned(
                length_mm=one.length_mm, sound_from_mm=one.sound_from_mm,
                sound_to_mm=one.sound_to_mm, pinned=one.pinned,
                rank=order[one.need_id] if one.need_id is not None else last,
            )
            for one in rest
        ],
        at_mm=at_mm, kerf_mm=kerf_mm,
    )  # fmt: skip
    for one, begin in zip(rest, begins, strict=True):
        if begin is not None and begin != one.from_mm:
            one.change(from_mm=begin, to_mm=begin + one.length_mm)
    lost = [rest[number] for number in out]
    for one in lost:
        one.change(pushed_off_by=cut, pinned=False)
    return lost


def why_spoilt(cut: Cut, bar: CuttingBar) -> str:
    """Why a part that is sawn does not count; empty when it does."""
    short_mm = cut.length_mm - (cut.actual_mm or 0)
    if short_mm > bar.plan.short_by_mm:
        return f"It is {short_mm} mm short and does not count."
    if cut.to_mm > cut.sound_to_mm:
        beyond_mm = cut.to_mm - cut.sound_to_mm
        return f"It reaches {beyond_mm} mm past the sound length, so it does not count."
    if bar.piece is not None and not is_sound(cut, bar.piece, settings_of(bar.plan).runs):
        return f"Something noted on {bar} since lies across it, so it does not count."
    return ""


def what_came_of_it(cut: Cut, why: str, lost: Sequence[Cut]) -> str:
    """What the person has to know now."""
    told = [why] if why else []
    if lost:
        names = " and ".join(f"“{one.title}” ({one.length_mm} mm)" for one in lost)
        told.append(
            f"{names} {'find' if len(lost) > 1 else 'finds'} no room on {cut.bar} any more."
        )
    return " ".join([*told, "Plan again for what is missing."])[:500]


def settle(bar: CuttingBar, cuts: Sequence[Cut], at: datetime) -> None:
    """Bring a bar, its plan and the needs up to what is sawn."""
    plan = bar.plan
    if bar.cuts.filter(made_at=None, pushed_off_by=None).exists():
        bar.change(**columns(stretches_of(bar)))
    else:
        finish_bar(bar=bar, at=at)
        if not plan.bars.filter(sawn_at=None).exists():
            plan.state = State.DONE
    plan.change(state=plan.state)
    count_needs(needs_of(cuts))


def needs_of(cuts: Sequence[Cut]) -> list[Need]:
    return [one.need for one in cuts if one.need is not None]
