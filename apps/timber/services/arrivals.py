"""Bought bars as pieces of the pile: from when they are there."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from apps.timber.models import CuttingBar, CuttingPlan, Piece
from apps.timber.pieces_as_data import GradeBasis, PieceState, Source, Stored

LONGEST_MARK = 12


@transaction.atomic
def take_in_bought(*, plan: CuttingPlan) -> None:
    """Put the bought bars that have arrived on the pile: nobody has to buy them again."""
    bars = plan.bars.filter(bought=True, piece=None, supply__arrived_at__isnull=False)
    for bar in bars:
        take_in(bar=bar)


@transaction.atomic
def take_in(*, bar: CuttingBar) -> Piece:
    """Put one bought bar on the pile, reserved for its plan."""
    stock: Any = bar.stock
    piece = Piece.objects.create(
        property_id=bar.plan.property_id,
        mark=free_mark(bar.plan.property_id, "N"),
        origin=f"Bought for {bar.plan}",
        stored=Stored.DRY,
        strength_class=stock.strength_class if stock else "",
        grade_basis=GradeBasis.STAMPED if stock and stock.strength_class else GradeBasis.ASSUMED,
        breadth_mm=bar.breadth_mm,
        depth_mm=bar.depth_mm,
        length_mm=bar.length_mm,
        treated=bool(stock and stock.treated),
        source=Source.BOUGHT,
        state=PieceState.RESERVED,
    )
    bar.change(piece=piece, mark=piece.mark)
    return piece


def free_mark(house_id: int, start: str) -> str:
    """The next mark in a house's pile that begins so: N1, N2, …; T14.1, T14.2, …

    A mark that would be too long is one of X1, X2, …
    """
    marks = Piece.objects.filter(property=house_id, mark__startswith=start)
    ends = [mark.removeprefix(start) for mark in marks.values_list("mark", flat=True)]
    number = 1 + max((int(end) for end in ends if end.isdecimal()), default=0)
    mark = f"{start}{number}"
    return mark if len(mark) <= LONGEST_MARK else free_mark(house_id, "X")
