"""Adding the usual inspections and certificates to a house, each once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from apps.inspections import usual
from apps.inspections.models import Certificate, Inspection
from apps.inspections.services.sign_offs import lock_house
from apps.property.models import Property
from renovation.errors import Problem


@dataclass(frozen=True, slots=True)
class Usual:
    """A usual row and whether this call adds it. Without an id in a preview."""

    row: Any
    added: bool


@transaction.atomic
def load_usual_inspections(*, house: Property, dry_run: bool) -> list[Usual]:
    """Add the inspections that are usual for a suspended floor, where they are not there yet.

    One is there when it was added before, whatever it is called now, or when one of its title
    is there.

    Raises:
        Problem: `no-usual-list` outside England.
    """
    refuse_outside_england(house)
    lock_house(house.pk)
    return added(
        house.inspections.all(),
        [
            Inspection(
                property=house,
                usual=look.key,
                title=look.title,
                by=look.by,
                notice_working_days=look.notice_working_days,
                visiting_days=list(look.visiting_days),
                required_evidence=[
                    {"key": photo.key, "title": photo.title} for photo in look.evidence
                ],
                note=look.sees,
                source=look.source,
            )
            for look in usual.LOOKS
        ],
        dry_run=dry_run,
    )


@transaction.atomic
def load_usual_certificates(
    *, house: Property, crafts: Collection[str] = (), dry_run: bool
) -> list[Usual]:
    """Add the certificates that are usual for some crafts, where they are not there yet.

    Args:
        crafts: those of the house's trades when left out. Where one trade alone has the
            craft, the certificate is owed by it.

    Raises:
        Problem: `no-usual-list` outside England.
    """
    refuse_outside_england(house)
    lock_house(house.pk)
    by_craft: dict[str, list[Any]] = {}
    for trade in house.trades.all():
        by_craft.setdefault(trade.craft, []).append(trade)
    wanted = set(crafts) or set(by_craft)
    return added(
        house.certificates.all(),
        [
            Certificate(
                property=house,
                usual=paper.key,
                title=paper.title,
                craft=paper.craft,
                trade=trades[0] if len(trades := by_craft.get(paper.craft, [])) == 1 else None,
                source=paper.source,
            )
            for paper in usual.PAPERS
            if paper.craft in wanted
        ],
        dry_run=dry_run,
    )


def added(there: Any, wanted: list[Any], *, dry_run: bool) -> list[Usual]:
    """Each usual row, as it is there or as it was added now."""
    rows = list(there)
    by_key = {row.usual: row for row in rows if row.usual}
    by_title = {row.title.casefold(): row for row in rows}
    found = []
    for row in wanted:
        kept = by_key.get(row.usual) or by_title.get(row.title.casefold())
        if kept is None and not dry_run:
            row.save()
        found.append(Usual(kept or row, added=kept is None))
    return found


def refuse_outside_england(house: Property) -> None:
    if (house.country, house.subdivision) not in {("GB", "ENG"), ("GB", "")}:
        raise Problem(
            "no-usual-list",
            f"The usual lists are England's; {house} is elsewhere. Ask the building control "
            "body there, and add what it names.",
        )
