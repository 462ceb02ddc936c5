"""Clearing what was asked for when something was accepted."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from apps.inspections.models import Condition
from apps.work.steps import Steps, lock, next_state

CONDITION_STEPS: Steps = {"open": {"clear": "cleared"}, "cleared": {"open-again": "open"}}


def state_of(condition: Condition) -> str:
    return "open" if condition.cleared_at is None else "cleared"


@transaction.atomic
def clear_condition(*, condition: Condition, note: str, at: datetime, by: Any) -> Condition:
    """Record that a condition is met, and how.

    Raises:
        Problem: `wrong-step` when it is cleared already.
    """
    lock(condition)
    next_state(CONDITION_STEPS, state_of(condition), "clear", name=str(condition))
    condition.change(cleared_at=at, cleared_note=note, cleared_by=by)
    return condition


@transaction.atomic
def open_condition_again(*, condition: Condition) -> Condition:
    """Undo a clearing.

    Raises:
        Problem: `wrong-step` when it is open.
    """
    lock(condition)
    next_state(CONDITION_STEPS, state_of(condition), "open-again", name=str(condition))
    condition.change(cleared_at=None, cleared_note="", cleared_by=None)
    return condition
