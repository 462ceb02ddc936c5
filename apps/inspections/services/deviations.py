"""Deviations: drafted, put to whoever decides, accepted or refused."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.inspections.models import Deviation, Evidence, SignOff
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

DEVIATION_STEPS: Steps = {
    "drafted": {"put": "put"},
    "put": {"accept": "accepted", "refuse": "refused", "back-to-draft": "drafted"},
    "accepted": {"back-to-draft": "drafted"},
    "refused": {"back-to-draft": "drafted"},
}


@transaction.atomic
def put_deviation(*, deviation: Deviation, at: datetime) -> Deviation:
    """Record that it was put to the one who decides.

    Raises:
        Problem: `wrong-step` unless it is drafted; `invalid` at `/why` without a reason.
    """
    lock(deviation)
    state = next_state(DEVIATION_STEPS, deviation.state, "put", name=str(deviation))
    if not deviation.why:
        raise field_problem("/why", "Say why before it is put to anyone.")
    deviation.change(state=state, put_at=at)
    return deviation


@transaction.atomic
def decide_deviation(
    *,
    deviation: Deviation,
    step: str,
    at: datetime,
    decided_by: SignOff | None = None,
    decided_letter: Evidence | None = None,
) -> Deviation:
    """Record the decision, with the sign-off or the letter that says so.

    Args:
        step: `accept` or `refuse`.

    Raises:
        Problem: `wrong-step` unless it was put; `invalid` without a sign-off or a letter, with
            one of another house, or with an override, which decides nothing.
    """
    lock(deviation)
    state = next_state(DEVIATION_STEPS, deviation.state, step, name=str(deviation))
    if decided_by is None and decided_letter is None:
        raise field_problem("/decided_by", "Name the sign-off or the letter that decided it.")
    for name, row in (("decided_by", decided_by), ("decided_letter", decided_letter)):
        if row is not None and row.house_id() != deviation.house_id():
            raise field_problem(f"/{name}", "This belongs to another house.")
    if decided_by is not None and decided_by.result == SignOff.Result.OVERRIDDEN:
        raise field_problem("/decided_by", "An override is not a decision of who looked.")
    if deviation.put_at is not None and at < deviation.put_at:
        raise field_problem(
            "/at", f"It was put at {deviation.put_at:%Y-%m-%d %H:%M} UTC, later than that."
        )
    deviation.change(
        state=state, decided_at=at, decided_by=decided_by, decided_letter=decided_letter
    )
    return deviation


@transaction.atomic
def back_to_draft(*, deviation: Deviation) -> Deviation:
    """Undo: drafted again, put to nobody and decided by nothing.

    Raises:
        Problem: `wrong-step` when it is drafted.
    """
    lock(deviation)
    state = next_state(DEVIATION_STEPS, deviation.state, "back-to-draft", name=str(deviation))
    deviation.change(
        state=state, put_at=None, decided_at=None, decided_by=None, decided_letter=None
    )
    return deviation


def refuse_unless_draft(deviation: Deviation) -> None:
    """Refuse to rewrite or remove what someone has been shown.

    Raises:
        Problem: `deviation-was-put`.
    """
    if deviation.state != Deviation.State.DRAFTED:
        raise Problem(
            "deviation-was-put", f"{deviation} is {deviation.state}; take it back to draft first."
        )
