"""Adding to the record: what was seen, by whom, and what was decided against waiting."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any, NotRequired, TypedDict

from django.db import transaction
from django.utils import timezone

from apps.inspections.chain import digest_of
from apps.inspections.entries import entry_of
from apps.inspections.models import Condition, Inspection, SignOff
from apps.property.models import Property
from apps.work.models import Task
from apps.work.steps import lock
from renovation.errors import Problem, field_problem


class Wanted(TypedDict):
    """A condition as it is said with a sign-off."""

    text: str
    due_on: NotRequired[date | None]
    blocks: NotRequired[Sequence[Task]]


@transaction.atomic
def sign_off(
    *,
    inspection: Inspection,
    result: str,
    seen_by: str,
    seen_at: datetime,
    recorded_by: Any,
    note: str = "",
    supersedes: SignOff | None = None,
    reason: str = "",
    conditions: Sequence[Wanted] = (),
) -> SignOff:
    """Record what the one who looked said. The latest look decides the inspection's state.

    One that was typed in late, of an earlier look than the latest, changes no state. After a
    rejection the old notice and booking no longer count: the next look needs its own. With
    `supersedes` it puts an earlier sign-off of the same inspection right: that one and its
    conditions no longer count, but stay.

    Raises:
        Problem: `invalid` when conditions are missing or not wanted, or when what it
            supersedes is not a look at the same inspection; `superseded-already`.
    """
    refuse_wrong_conditions(result, conditions)
    if supersedes is not None:
        refuse_wrong_correction(inspection, supersedes)
    lock_house(inspection.property_id)
    lock(inspection)
    before = latest_look(inspection)
    recorded = append(
        inspection=inspection,
        result=result,
        seen_by=seen_by,
        seen_at=seen_at,
        recorded_by=recorded_by,
        note=note,
        supersedes=supersedes,
        reason=reason,
        conditions=conditions,
    )
    latest = latest_look(inspection)
    if latest is not None and latest != before:
        rejected = latest.result == SignOff.Result.REJECTED
        spent = {"notified_at": None, "booked_starts": None, "booked_ends": None}
        inspection.change(state=latest.result, **(spent if rejected else {}))
    return recorded


@transaction.atomic
def append(
    *,
    inspection: Inspection,
    result: str,
    seen_by: str,
    seen_at: datetime,
    recorded_by: Any,
    note: str = "",
    supersedes: SignOff | None = None,
    reason: str = "",
    task: Task | None = None,
    conditions: Sequence[Wanted] = (),
    stood_against: Iterable[str] = (),
    recorded_at: datetime | None = None,
) -> SignOff:
    """Add a row to the house's chain, with its number and digest. Changes nothing else.

    Args:
        stood_against: what an override was given for, in sentences.
        recorded_at: now when left out.

    Raises:
        Problem: `superseded-already` when another row corrects the same one.
    """
    house_id = inspection.property_id
    lock_house(house_id)
    if supersedes is not None and SignOff.objects.filter(supersedes=supersedes).exists():
        raise Problem(
            "superseded-already",
            f"Sign-off number {supersedes.number} was corrected already; correct that correction.",
        )
    last = SignOff.objects.filter(property=house_id).order_by("number").last()
    row = SignOff(
        property_id=house_id,
        number=last.number + 1 if last else 1,
        inspection=inspection,
        task=task,
        result=result,
        seen_by=seen_by,
        seen_at=seen_at,
        note=note,
        supersedes=supersedes,
        reason=reason,
        recorded_by=recorded_by,
        recorded_at=recorded_at or timezone.now(),
        previous_digest=last.digest if last else "",
        stated=as_it_stands(inspection, task, recorded_by, conditions, stood_against),
    )
    row.digest = digest_of(entry_of(row))
    row.save(force_insert=True)
    for wanted in conditions:
        made = Condition.objects.create(
            sign_off=row, text=wanted["text"], due_on=wanted.get("due_on")
        )
        made.blocks.set(wanted.get("blocks") or ())
    return row


def lock_house(house_id: int) -> None:
    """Let one writer at a time add to a house's chain.

    The unique number would refuse the second of two anyway; this makes it wait instead.
    """
    Property.objects.select_for_update(no_key=True).get(pk=house_id)


def latest_look(inspection: Inspection) -> SignOff | None:
    """The latest look that no correction has replaced."""
    looks = inspection.sign_offs.exclude(result=SignOff.Result.OVERRIDDEN)
    return looks.filter(superseded_by=None).order_by("seen_at", "number").last()


def as_it_stands(
    inspection: Inspection,
    task: Task | None,
    recorded_by: Any,
    conditions: Sequence[Wanted],
    stood_against: Iterable[str],
) -> dict[str, Any]:
    """What a sign-off names, as it is called today: titles may be changed later, this not."""
    stated: dict[str, Any] = {
        "inspection": {
            "id": inspection.pk,
            "title": inspection.title,
            "by": inspection.by,
            "floor": inspection.floor_id,
            "area": inspection.area,
        },
        "task": {"id": task.pk, "title": task.title} if task else None,
        "recorded_by": recorded_by.get_username(),
        "conditions": [
            {
                "text": wanted["text"],
                "due_on": due_on.isoformat() if (due_on := wanted.get("due_on")) else None,
                "blocks": [
                    {"id": blocked.pk, "title": blocked.title}
                    for blocked in wanted.get("blocks") or ()
                ],
            }
            for wanted in conditions
        ],
    }
    if against := list(stood_against):
        stated["stood_against"] = against
    return stated


def refuse_wrong_conditions(result: str, conditions: Sequence[Wanted]) -> None:
    wanted = result == SignOff.Result.ACCEPTED_WITH_CONDITIONS
    if wanted and not conditions:
        raise field_problem("/conditions", "Say what the conditions are, one or more.")
    if conditions and not wanted:
        raise field_problem("/conditions", "Only what is accepted with conditions has conditions.")


def refuse_wrong_correction(inspection: Inspection, supersedes: SignOff) -> None:
    if supersedes.inspection_id != inspection.pk:
        raise field_problem("/supersedes", f"That was a look at {supersedes.inspection}.")
    if supersedes.result == SignOff.Result.OVERRIDDEN:
        raise field_problem(
            "/supersedes", "An override is not corrected: the step was taken. Record a look."
        )
