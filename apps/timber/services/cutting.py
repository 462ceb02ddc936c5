"""Making cutting plans: ask for one, work it out, keep the answer. Not yet applying it.

A plan is a job (`renovation.jobs`), as the planner's: whoever claims its row works it out outside
any transaction and stores the answer in one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from datetime import date
from time import perf_counter
from typing import Any
from zoneinfo import ZoneInfo

from celery.exceptions import SoftTimeLimitExceeded
from django.db import transaction
from django.utils import timezone

from apps.property.models import Property
from apps.timber import sawing
from apps.timber.bars import Bar, bars
from apps.timber.loading_cuts import Asked, ask, settings_of
from apps.timber.matching import Match
from apps.timber.models import Cut, CuttingBar, CuttingPlan, Need, Piece
from apps.timber.offcuts import sound_mm
from apps.timber.pieces_as_data import PieceData, Source
from apps.timber.services.arrivals import take_in_bought
from apps.timber.unmet import unmet
from renovation import jobs

READ_PCT, SOLVED_PCT, LAID_OUT_PCT = 10, 70, 95
# The cutter's search is the same in every run: two workers of one chance.
WORKERS, SEED = 2, 1
State = CuttingPlan.State


@transaction.atomic
def request_cutting_plan(
    *,
    house: Property,
    requested_by: Any = None,
    needs: Sequence[Need] = (),
    pieces: Sequence[Piece] = (),
    replans: CuttingPlan | None = None,
    **settings: Any,
) -> CuttingPlan:
    """Queue a cutting plan, and hand it to the workers once it is stored.

    One for all that is open takes the place of another such that is still queued.

    Args:
        needs, pieces: these only; empty: all that are open, all in stock.
        replans: a plan whose place it takes when it is applied; its cuts that are made or
            pinned stay.
        settings: columns of the plan.
    """
    if replans is not None:
        take_in_bought(plan=replans)
    plan = CuttingPlan.objects.create(
        property=house,
        requested_by=requested_by,
        replans=replans,
        as_of=today_at(house),
        **settings,
    )
    plan.needs.set(needs)
    plan.pieces.set(pieces)
    if not needs and not pieces:
        whole = CuttingPlan.objects.filter(
            property=house, replans=replans, needs__isnull=True, pieces__isnull=True
        )
        jobs.supersede(whole, by=plan)
    jobs.hand_out(KIND, plan)
    return plan


def today_at(house: Property) -> date:
    """The day it is at the house."""
    return timezone.now().astimezone(ZoneInfo(house.timezone)).date()


def solve(*, plan_id: int) -> None:
    """Work out the plan that is next in turn. Safe to run twice: the second run finds none."""
    jobs.work(KIND, plan_id)


def requeue_left_plans() -> None:
    """Hand out again what was queued or claimed and never finished."""
    jobs.sweep(KIND, now=timezone.now())


def cancel_plan(*, plan: CuttingPlan) -> CuttingPlan:
    """Stop a plan that is queued or being worked out; nothing was reserved by it."""
    jobs.cancel(plan)
    return plan


def make(plan: CuttingPlan) -> None:
    store(plan, work_out(plan, told=lambda pct: jobs.note_progress(plan, pct)))


def task() -> Any:
    from apps.timber.tasks import work_out_cutting_plan  # noqa: PLC0415 (tasks import this module)

    return work_out_cutting_plan


def failure(exc: Exception) -> str:
    """What the person is told of a plan that was not made."""
    if isinstance(exc, SoftTimeLimitExceeded):
        return "The cutter was stopped, as it took too long; nothing was changed."
    return "The cutter stopped on an error; nothing was changed."


KIND = jobs.Kind(rows=CuttingPlan, task=task, do=make, failure=failure)


def work_out(plan: CuttingPlan, *, told: Callable[[int], None] = lambda _: None) -> dict[str, Any]:
    """Read the pile, match, solve, lay out: all the plan's answer, nothing stored.

    `told` hears how far it is [%].
    """
    # numpy and the solvers take half a second to load: only when a plan is made.
    from apps.timber.cutting.solver import solve_cutting  # noqa: PLC0415

    began = perf_counter()
    asked = ask(plan, today=plan.as_of or today_at(plan.property))
    told(READ_PCT)
    solution = solve_cutting(
        asked.question.problem, seconds=plan.seconds, workers=WORKERS, seed=SEED
    )
    told(SOLVED_PCT)
    left = unmet(
        asked.question,
        solution,
        needs=asked.needs,
        pieces=asked.pieces,
        stock=asked.stock,
        laps=asked.laps,
    )
    told(LAID_OUT_PCT)
    return {
        "bars": rows_of(plan, asked, bars(asked.question, solution)),
        "objective": [asdict(level) for level in solution.levels],
        "proven": solution.proven and not asked.question.divided,
        "notes": notes(asked),
        "unmet": [
            {
                "need": one.need.id,
                "title": one.need.title,
                "count": one.count,
                "length_mm": one.need.length_mm,
                "sentence": one.sentence,
                "changes": [asdict(change) for change in one.changes],
            }
            for one in left
        ],
        "solve_seconds": perf_counter() - began,
    }


def notes(asked: Asked) -> list[str]:
    """What the reader of the figures has to know."""
    if not asked.question.divided:
        return []
    marks = ", ".join(asked.question.divided)
    told = (
        f"{marks}: sound lengths differ by what is wanted, and no part lies across the places "
        "where they do; the bounds hold among plans that are divided so."
    )
    return [told]


def rows_of(plan: CuttingPlan, asked: Asked, found: Iterable[Bar]) -> list[dict[str, Any]]:
    """The bars with their cuts as columns, the pieces that are sawn in part among them."""
    pieces = {piece.id: piece for piece in asked.pieces}
    stock = {one.id: one for one in asked.stock}
    laid = list(found)
    have = {bar.piece_id for bar in laid}
    laid += [Bar(one.piece_id, None, ()) for one in asked.begun if one.piece_id not in have]
    made = made_before(plan, asked)
    rows = []
    new = 0
    for bar in laid:
        if bar.piece_id is not None:
            piece = pieces[bar.piece_id]
            values: dict[str, Any] = {"mark": piece.mark, "piece_id": piece.id}
        else:
            assert bar.stock_id is not None, "a bar is of a piece or of what is sold"  # nosec B101
            new += 1
            piece = stock[bar.stock_id].as_piece()
            values = {
                "mark": f"new {new}", "bought": True, "stock_id": bar.stock_id,
                "cost_pence": stock[bar.stock_id].cost_pence,
            }  # fmt: skip
        before = made[bar.piece_id] if bar.piece_id is not None else []
        parts = [(cut.from_mm, cut.to_mm) for cut in before]
        parts += [(part.from_mm, part.to_mm) for part in bar.parts]
        rows.append(
            {
                **values,
                "breadth_mm": piece.breadth_mm,
                "depth_mm": piece.depth_mm,
                "length_mm": piece.length_mm,
                **columns(lengths(plan, piece, parts)),
                "cuts": cut_rows(asked, bar, first=before[-1].place + 1 if before else 0),
            }
        )
    return rows


def made_before(plan: CuttingPlan, asked: Asked) -> dict[int, list[Cut]]:
    """What is sawn already of the pieces that are begun, by piece id, in sawing order."""
    found: dict[int, list[Cut]] = defaultdict(list)
    cuts = Cut.objects.filter(
        bar__plan=plan.replans_id, bar__sawn_at=None, made_at__isnull=False,
        bar__piece__in=[one.piece_id for one in asked.begun],
    )  # fmt: skip
    for cut in cuts.select_related("bar").order_by("place"):
        if cut.bar.piece_id is not None:
            found[cut.bar.piece_id].append(cut)
    return found


def cut_rows(asked: Asked, bar: Bar, *, first: int) -> list[dict[str, Any]]:
    needs = {need.id: need for need in asked.needs}
    rows = []
    for place, part in enumerate(bar.parts, start=first):
        need = needs[part.need_id]
        if bar.piece_id is not None:
            match: Match = asked.question.matches[part.need_id][bar.piece_id]
        else:
            assert bar.stock_id is not None, "a bar is of a piece or of what is sold"  # nosec B101
            match = asked.question.sold[part.need_id][bar.stock_id]
        rip = match.use.section.rip
        rows.append(
            {
                "place": place,
                "need_id": need.id,
                "title": need.title,
                "length_mm": need.length_mm,
                "from_mm": part.from_mm,
                "to_mm": part.to_mm,
                "sound_from_mm": part.sound_from_mm,
                "sound_to_mm": part.sound_to_mm,
                "rip_breadth_mm": rip.to_breadth_mm if rip else None,
                "rip_depth_mm": rip.to_depth_mm if rip else None,
                "sentence": "" if bar.piece_id is None else match.sentence[:500],
                "pinned": part.pinned,
            }
        )
    return rows


def lengths(
    plan: CuttingPlan, piece: PieceData, parts: Sequence[tuple[int, int]]
) -> tuple[sawing.Stretch, ...]:
    """What each length of a bar becomes when these parts are cut from it."""
    runs = settings_of(plan).runs
    return sawing.stretches(
        sawing.BarData(
            length_mm=piece.length_mm,
            parts=parts,
            kerf_mm=plan.kerf_mm,
            trim_mm=plan.end_trim_mm,
            old_ends=piece.source == Source.SALVAGED,
            least_offcut_mm=plan.least_offcut_mm,
            sound_mm=lambda start, stop: sound_mm(piece, start, stop, runs),
        )
    )


def columns(found: Iterable[sawing.Stretch]) -> dict[str, int]:
    """A bar's totals as its columns."""
    totals = sawing.totals(found)
    return {
        "parts_mm": totals[sawing.Kind.PART],
        "kerfs_mm": totals[sawing.Kind.KERF],
        "trims_mm": totals[sawing.Kind.TRIM],
        "offcuts_mm": totals[sawing.Kind.OFFCUT],
        "waste_mm": totals[sawing.Kind.WASTE],
    }


@transaction.atomic
def store(plan: CuttingPlan, answer: dict[str, Any]) -> None:
    """Keep the answer: nothing is reserved by it."""
    found = answer.pop("bars")
    # The claim first: a plan that was given up may not write beside its successor.
    jobs.finish(plan, state=State.READY, progress_pct=100, **answer)
    for place, row in enumerate(found):
        cuts = row.pop("cuts")
        bar = CuttingBar.objects.create(plan=plan, place=place, **row)
        Cut.objects.bulk_create(Cut(bar=bar, **cut) for cut in cuts)
