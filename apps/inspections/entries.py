"""A sign-off as the chain sees it: the values that its digest is made of."""

from __future__ import annotations

from typing import Any

from apps.inspections.chain import instant
from apps.inspections.models import SignOff


def ids_of(row: SignOff) -> dict[str, int | None]:
    """The ids that the row names, as they are numbered here."""
    return {
        "property": row.property_id,
        "inspection": row.inspection_id,
        "task": row.task_id,
        "recorded_by": row.recorded_by_id,
    }


def signed_ids_of(row: SignOff) -> dict[str, int | None]:
    """The same as they were when it was signed: a house that moved is numbered anew."""
    here = ids_of(row)
    return here if row.as_signed is None else {name: row.as_signed[name] for name in here}


def entry_of(row: SignOff) -> dict[str, Any]:
    """Everything the row says, for the chain. Needs `supersedes` at hand."""
    ids = signed_ids_of(row)
    return {
        "property": ids["property"],
        "number": row.number,
        "inspection": ids["inspection"],
        "task": ids["task"],
        "result": str(row.result),
        "seen_by": row.seen_by,
        "seen_at": instant(row.seen_at),
        "note": row.note,
        "supersedes": row.supersedes.number if row.supersedes else None,
        "reason": row.reason,
        "stated": row.stated,
        "recorded_by": ids["recorded_by"],
        "recorded_at": instant(row.recorded_at),
        "previous_digest": row.previous_digest,
    }
