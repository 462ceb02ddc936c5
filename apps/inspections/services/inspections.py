"""Notices and bookings of inspections."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from apps.inspections.models import Inspection
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem

# Signing off is possible from everywhere: an inspector may look in unasked, and a correction
# is a further sign-off.
INSPECTION_STEPS: Steps = {
    "due": {"notify": "notified", "book": "booked"},
    "notified": {"book": "booked", "withdraw-notice": "due"},
    "booked": {"book": "booked", "unbook": "notified"},
    "accepted": {},
    "accepted_with_conditions": {},
    "rejected": {"notify": "notified", "book": "booked"},
}


@transaction.atomic
def notify_inspection(*, inspection: Inspection, at: datetime) -> Inspection:
    """Record that notice was given.

    Raises:
        Problem: `wrong-step` unless it is due, or was rejected and is to be seen again.
    """
    return step(inspection, "notify", notified_at=at)


@transaction.atomic
def withdraw_notice(*, inspection: Inspection) -> Inspection:
    """Undo a notice.

    Raises:
        Problem: `wrong-step` unless notice was given and nothing is booked.
    """
    return step(inspection, "withdraw-notice", notified_at=None)


@transaction.atomic
def book_inspection(*, inspection: Inspection, starts: datetime, ends: datetime) -> Inspection:
    """Record the agreed time, or another one. No notice is needed for it to be booked.

    Raises:
        Problem: `wrong-step` once it is signed off.
    """
    return step(inspection, "book", booked_starts=starts, booked_ends=ends)


@transaction.atomic
def unbook_inspection(*, inspection: Inspection) -> Inspection:
    """Undo a booking: back to notified, or to due when no notice was given.

    Raises:
        Problem: `wrong-step` unless it is booked.
    """
    return step(inspection, "unbook", booked_starts=None, booked_ends=None)


def refuse_changing_what_was_seen(*, inspection: Inspection, wanted: Mapping[str, Any]) -> None:
    """Refuse to reword what somebody signed: it would then say something else than was seen.
    Their case number may come later.

    Args:
        wanted: its columns as they would be; those that stay as they are do no harm.

    Raises:
        Problem: `seen-already` once there is a sign-off.
    """
    changed = [
        name
        for name, value in wanted.items()
        if name != "reference" and differs(inspection, name, value)
    ]
    if changed and inspection.sign_offs.exists():
        raise Problem(
            "seen-already",
            f"{inspection} was signed already: what was seen stays as it was written down.",
            errors=[
                {"pointer": f"/{name}", "detail": "This stays as it was signed."}
                for name in changed
            ],
        )


def differs(inspection: Inspection, name: str, value: Any) -> bool:
    """Whether a column would become another; of several rows the order does not count."""
    before = getattr(inspection, name)
    if isinstance(value, list) and hasattr(before, "all"):
        return {row.pk for row in value} != {row.pk for row in before.all()}
    return bool(before != value)


def step(inspection: Inspection, name: str, **values: Any) -> Inspection:
    lock(inspection)
    state = next_state(INSPECTION_STEPS, inspection.state, name, name=str(inspection))
    if name == "unbook" and inspection.notified_at is None:
        state = Inspection.State.DUE
    inspection.change(state=state, **values)
    return inspection
