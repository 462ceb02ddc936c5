"""What ends a need for open boards: a visit done, a task done, a sign-off. And its undoing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from django.db.models import F

from apps.inspections.models import SIGNED_OFF
from apps.trades.models import AccessNeed
from renovation.errors import field_problem

Until = AccessNeed.Until

# For each end: the field that names it, whether it has come, and the word for it.
ENDS: Mapping[str, tuple[str, Callable[[Any], bool], str]] = {
    Until.VISIT_DONE: ("visit", lambda visit: visit.state == "done", "done"),
    Until.TASK_DONE: ("task", lambda task: task.status == "done", "done"),
    Until.SIGNED_OFF: ("inspection", lambda row: row.state in SIGNED_OFF, "signed off"),
}


def release_held(until: str, named: Any, *, at: datetime) -> None:
    """Release the needs that wait for `named`, which has come to its end."""
    AccessNeed.objects.filter(until=until, released_at=None, **{ENDS[until][0]: named}).update(
        released_at=at, version=F("version") + 1
    )


def hold_again_what_was_released(until: str, named: Any) -> None:
    """Take those releases back; one made by hand, with its note, stays."""
    AccessNeed.objects.filter(
        until=until, released_at__isnull=False, release_note="", **{ENDS[until][0]: named}
    ).update(released_at=None, version=F("version") + 1)


def refuse_what_has_happened(*, until: str, **named: Any) -> None:
    """Refuse a need whose end has come already: nothing would ever release it.

    Args:
        named: the need's `visit`, `task` and `inspection`, each a row or None.

    Raises:
        Problem: `invalid` at the field that names the end.
    """
    if until not in ENDS:
        return
    field, has_come, word = ENDS[until]
    if has_come(named[field]):
        raise field_problem(
            f"/{field}", f"{named[field]} is {word} already; nothing would release this."
        )
