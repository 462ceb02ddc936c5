"""What is missing before a house can be signed off, each with a sentence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from apps.inspections import selectors
from apps.inspections.models import Deviation
from apps.property.models import Property


@dataclass(frozen=True, slots=True)
class Owed:
    """One thing that is missing. `id` is that of the record the kind names; for evidence,
    of the inspection that asks for it."""

    kind: str
    id: int
    sentence: str


def owed(house: Property) -> list[Owed]:
    """Everything that is missing before sign-off. Five queries, however much it is."""
    return [
        *looks(house), *conditions(house), *evidence(house), *deviations(house),
        *certificates(house),
    ]  # fmt: skip


def looks(house: Property) -> Iterator[Owed]:
    for row in selectors.waiting(house).order_by("pk"):
        state = row.state.replace("_", " ")
        yield Owed("hold_point", row.pk, f"“{row}” is not signed off; it is {state}.")


def conditions(house: Property) -> Iterator[Owed]:
    for row in selectors.open_conditions(house).order_by("pk"):
        due = f", due {say(row.due_on)}" if row.due_on else ""
        of = row.sign_off.inspection
        yield Owed("condition", row.pk, f"The condition “{row}” of “{of}” is open{due}.")


def evidence(house: Property) -> Iterator[Owed]:
    for missing in selectors.missing_evidence(house):
        yield Owed("evidence", missing.inspection.pk, missing.sentence)


def deviations(house: Property) -> Iterator[Owed]:
    rows = house.deviations.filter(state__in=[Deviation.State.DRAFTED, Deviation.State.PUT])
    for row in rows.order_by("pk"):
        how = "put, but not decided" if row.state == Deviation.State.PUT else "not put to anyone"
        yield Owed("deviation", row.pk, f"The deviation “{row}” is {how}.")


def certificates(house: Property) -> Iterator[Owed]:
    rows = house.certificates.filter(received_on=None).select_related("trade")
    for row in rows.order_by("pk"):
        whose = f" from {row.trade}" if row.trade else ""
        due = f", due {say(row.due_on)}" if row.due_on else ""
        yield Owed("certificate", row.pk, f"“{row}”{whose} has not been received{due}.")


def say(on: date) -> str:
    """3 Mar 2026."""
    return f"{on.day} {on:%b %Y}"
