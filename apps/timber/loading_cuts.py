"""From rows to the cutter's question: what is still wanted, what there is, what stays."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Q

from apps.timber.joist_places import joist_checks
from apps.timber.lap_places import lap_checks
from apps.timber.layout import (
    Begun,
    CutSettings,
    Pinned,
    Question,
    StockData,
    Wanted,
    free_again,
    question,
)
from apps.timber.loading import need_data, piece_data
from apps.timber.matches import forecaster, with_joists
from apps.timber.matching import Matcher
from apps.timber.models import Cut, CuttingBar, CuttingPlan, Need, Piece, StockLength
from apps.timber.pieces_as_data import NeedData, PieceData, PieceState
from apps.timber.runs import RunSettings
from apps.timber.selectors import with_all
from apps.timber.unmet import LapCheck

State = CuttingPlan.State
IN_FORCE = (State.APPLIED, State.DONE)
STILL_WANTED = (Need.State.OPEN, Need.State.PLANNED)


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with the rows' data that it was made of."""

    question: Question
    needs: tuple[NeedData, ...]
    pieces: tuple[PieceData, ...]
    stock: tuple[StockData, ...]
    begun: tuple[Begun, ...]
    laps: Mapping[int, LapCheck]


def settings_of(plan: CuttingPlan) -> CutSettings:
    """A plan's own settings."""
    return CutSettings(
        kerf_mm=plan.kerf_mm,
        least_offcut_mm=plan.least_offcut_mm,
        ripping_pence_per_m=plan.ripping_pence_per_m,
        runs=RunSettings(
            end_trim_mm=plan.end_trim_mm,
            nail_margin_mm=plan.nail_margin_mm,
            decay_margin_mm=plan.decay_margin_mm,
        ),
    )


def ask(plan: CuttingPlan, *, today: date) -> Asked:
    """The question that a plan is to answer.

    Args:
        plan: with its settings, perhaps some needs and pieces only, perhaps a plan it replans.
        today: the day it is at the house.
    """
    settings = settings_of(plan)
    before = plan.replans
    begun = begun_bars(before)
    pieces = tuple(pieces_for(plan, before, begun))
    wanted = wanted_by(plan, before)
    needs = tuple(one.need for one in wanted)
    stock = tuple(stock_of(plan.property_id))
    rows = list(with_joists(Need.objects.filter(pk__in=[need.id for need in needs])))
    asks = Matcher(today=today, forecast_of=forecaster(today), settings=settings.runs)
    matches = asks.match_all(needs, pieces, joist_checks(rows))
    # Of bought timber nobody has read the moisture: it is taken as sold, and as large as wanted.
    new = Matcher(today=today, settings=settings.runs)
    sold = new.match_all(needs, [one.as_piece() for one in stock])
    counts = {one.need.id: one.count for one in wanted}
    asked = question(
        wanted=wanted, pieces=pieces, matches=matches, stock=stock, sold=sold, settings=settings,
        begun=begun, pinned=tuple(pins_of(before, counts)),
    )  # fmt: skip
    laps = lap_checks(rows, margin_mm=plan.decay_margin_mm)
    return Asked(asked, needs, pieces, stock, begun, laps)


def begun_bars(before: CuttingPlan | None) -> tuple[Begun, ...]:
    """The bars of an applied plan that are sawn in part, and from where on they are whole."""
    if before is None or before.state != State.APPLIED:
        return ()
    found = []
    for bar in before.bars.filter(sawn_at=None, piece__isnull=False).prefetch_related("cuts"):
        made = [cut.to_mm for cut in bar.cuts.all() if cut.made_at is not None]
        if made and bar.piece_id is not None:
            found.append(Begun(piece_id=bar.piece_id, from_mm=max(made) + before.kerf_mm))
    return tuple(found)


def pieces_for(
    plan: CuttingPlan, before: CuttingPlan | None, begun: Collection[Begun]
) -> Iterable[PieceData]:
    """What may be cut: what is in stock (or the pieces asked for), and what the plan before has."""
    wanted = list(plan.pieces.values_list("pk", flat=True))
    held: list[int | None] = []
    if before is not None and before.state == State.APPLIED:
        held = list(before.bars.filter(sawn_at=None).values_list("piece", flat=True))
    started = {one.piece_id for one in begun}
    free = Q(state=PieceState.IN_STOCK)
    rows = Piece.objects.filter(
        (free & Q(pk__in=wanted) if wanted else free) | Q(pk__in=[key for key in held if key]),
        property=plan.property_id,
    )
    for piece in with_all(rows):
        if piece.state in {PieceState.IN_STOCK, PieceState.RESERVED} or piece.pk in started:
            yield free_again(piece_data(piece))


def wanted_by(plan: CuttingPlan, before: CuttingPlan | None) -> list[Wanted]:
    """The needs to be met, each with how many of it no applied plan has."""
    rows = Need.objects.filter(property=plan.property_id, state__in=STILL_WANTED)
    if asked := list(plan.needs.values_list("pk", flat=True)):
        rows = rows.filter(pk__in=asked)
    taken = cuts_in_force(rows, besides=before)
    found = [(need, need.quantity - taken[need.pk]) for need in rows]
    return [Wanted(need=need_data(need), count=count) for need, count in found if count > 0]


def cuts_in_force(needs: Iterable[Need], *, besides: CuttingPlan | None = None) -> Counter[int]:
    """How many of each need are cut or planned to be, by applied plans; by need id.

    Args:
        needs: of these.
        besides: what this plan has still to cut does not count.
    """
    counting = in_force()
    if besides is not None:
        counting &= ~Q(bar__plan=besides, made_at=None)
    rows = (
        Cut.objects.filter(counting, need__in=[need.pk for need in needs])
        .order_by()
        .values_list("need")
        .annotate(count=Count("pk"))
    )
    return Counter(dict(rows))


def in_force(path: str = "") -> Q:
    """Which cuts count: those of applied plans, and whatever is made, but for what is spoilt.

    Args:
        path: to the cuts, in query words ("cuts__").
    """
    counts = Q(**{f"{path}bar__plan__state__in": IN_FORCE}) | Q(**{f"{path}made_at__isnull": False})
    return counts & Q(**{f"{path}pushed_off_by": None, f"{path}spoilt": False})


def stock_of(house_id: int) -> Iterable[StockData]:
    """What is sold, as the pure modules take it."""
    for row in StockLength.objects.filter(property=house_id):
        yield StockData(
            id=row.pk, breadth_mm=row.breadth_mm, depth_mm=row.depth_mm, length_mm=row.length_mm,
            cost_pence=row.cost_pence(), strength_class=row.strength_class, treated=row.treated,
            available=row.available,
        )  # fmt: skip


def pins_of(before: CuttingPlan | None, counts: dict[int, int]) -> Iterable[Pinned]:
    """The pinned parts of the plan before that are still to be sawn, no more than are wanted."""
    if before is None:
        return
    left = Counter(counts)
    cuts: Any = Cut.objects.filter(
        bar__plan=before, pinned=True, made_at=None, pushed_off_by=None, need__isnull=False
    )
    for cut in cuts.select_related("bar"):
        if left[cut.need_id] < 1:
            continue
        left[cut.need_id] -= 1
        bar: CuttingBar = cut.bar
        if bar.piece_id is not None:
            yield Pinned(cut.need_id, bar.piece_id, None, cut.from_mm)
        elif bar.stock_id is not None:
            yield Pinned(cut.need_id, None, bar.stock_id, cut.from_mm, bar.pk)
