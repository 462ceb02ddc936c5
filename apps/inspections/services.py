"""Changes of inspections, and the hold points that tasks have to wait for."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from apps.inspections.models import SIGNED_OFF, Inspection, SignOff
from apps.work import services as work_services
from apps.work.models import Task
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


def step(inspection: Inspection, name: str, **values: Any) -> Inspection:
    lock(inspection)
    state = next_state(INSPECTION_STEPS, inspection.state, name, name=str(inspection))
    if name == "unbook" and inspection.notified_at is None:
        state = Inspection.State.DUE
    inspection.change(state=state, **values)
    return inspection


@transaction.atomic
def sign_off(
    *,
    inspection: Inspection,
    result: str,
    seen_by: str,
    seen_at: datetime,
    recorded_by: Any,
    note: str = "",
) -> SignOff:
    """Record what the one who looked said. The latest look decides the inspection's state.

    One that was typed in late, of an earlier look than the latest, changes no state. After a
    rejection the old notice and booking no longer count: the next look needs its own.
    """
    lock(inspection)
    recorded = SignOff.objects.create(
        inspection=inspection,
        result=result,
        seen_by=seen_by,
        seen_at=seen_at,
        recorded_by=recorded_by,
        note=note,
    )
    latest = inspection.sign_offs.order_by("-seen_at", "-pk").first()
    if latest == recorded:
        rejected = result == SignOff.Result.REJECTED
        spent = {"notified_at": None, "booked_starts": None, "booked_ends": None}
        inspection.change(state=result, **(spent if rejected else {}))
    return recorded


@transaction.atomic
def start_task(*, task: Task, at: datetime) -> Task:
    """Begin a task that no open hold point stands against.

    Raises:
        Problem: `hold-point-open`; and as `work.services.start_task`.
    """
    lock(task)
    refuse_open_hold_points(task)
    return work_services.start_task(task=task, at=at)


@transaction.atomic
def finish_task(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> Task:
    """End a task that no open hold point stands against: work that was started too early is
    not to be covered up either.

    Raises:
        Problem: `hold-point-open`; and as `work.services.finish_task`.
    """
    lock(task)
    refuse_open_hold_points(task)
    return work_services.finish_task(task=task, at=at, minutes=minutes, noted_by=noted_by)


def refuse_open_hold_points(task: Task) -> None:
    """Refuse a task while an inspection that blocks it is not signed off.

    Raises:
        Problem: `hold-point-open`, with the `inspections` that stand against it.
    """
    still_open = list(task.blocked_by.exclude(state__in=SIGNED_OFF).order_by("pk"))
    if still_open:
        first = still_open[0]
        say = first.state.replace("_", " ")
        more = f" (and {len(still_open) - 1} more)" if len(still_open) > 1 else ""
        raise Problem(
            "hold-point-open",
            f"{task} waits until “{first}” is signed off; it is {say}.{more}",
            inspections=[
                {"id": row.pk, "title": row.title, "state": row.state} for row in still_open
            ],
        )
