"""Pieces that a task is to be done with and that are still too wet for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from apps.property.models import Property
from apps.timber.loading import piece_data
from apps.timber.matches import forecaster
from apps.timber.models import Cut, CuttingPlan, Need, Piece
from apps.timber.outlook import Outlook
from apps.timber.selectors import with_all

# Plans that somebody goes by: their pieces are spoken for.
GONE_BY = (CuttingPlan.State.APPLIED, CuttingPlan.State.DONE)


@dataclass(frozen=True, slots=True)
class WetTimber:
    """A piece that a task waits for.

    `dry_on` is the likely day that it is dry enough; None: not by itself where it is stored, or
    too wet to say. A piece that should be dry by now and was not read again is not held against
    the task: the pile says to read it.
    """

    task_id: int
    need: Need
    piece: Piece
    dry_on: date | None
    sentence: str


def wet_timber(house: Property, *, today: date) -> list[WetTimber]:
    """Every task of a house that waits for a piece to dry, by what was applied to be cut."""
    pairs = spoken_for(house)
    if not pairs:
        return []
    forecast_of = forecaster(today)
    pieces = with_all(Piece.objects.filter(pk__in={cut.bar.piece_id for cut in pairs})).in_bulk()
    found = []
    for cut in pairs:
        need, piece = cut.need, pieces.get(cut.bar.piece_id or 0)
        if need is None or need.task_id is None or piece is None:
            continue
        told = forecast_of(piece_data(piece), float(need.moisture_limit_pct or 0))
        wet = told.outlook in {Outlook.DATE, Outlook.NEVER, Outlook.TOO_WET}
        if wet and (told.dry_on is None or told.dry_on > today):
            found.append(WetTimber(need.task_id, need, piece, told.dry_on, told.sentence))
    return found


def spoken_for(house: Property) -> list[Cut]:
    """One cut for each need and piece that an applied plan brings together."""
    cuts: QuerySet[Cut] = (
        Cut.objects.filter(
            bar__plan__property=house,
            bar__plan__state__in=GONE_BY,
            bar__piece__isnull=False,
            need__task__isnull=False,
            need__moisture_limit_pct__isnull=False,
            spoilt=False,
            pushed_off_by__isnull=True,
        )
        .select_related("bar", "need")
        .order_by("pk")
    )
    return list(first_of_each(cuts))


def first_of_each(cuts: Iterable[Cut]) -> Iterable[Cut]:
    seen = set()
    for cut in cuts:
        key = (cut.need_id, cut.bar.piece_id)
        if key not in seen:
            seen.add(key)
            yield cut
