"""A sign-off as the chain sees it: the values that its digest is made of."""

from __future__ import annotations

from typing import Any

from apps.inspections.chain import instant
from apps.inspections.models import SignOff


def entry_of(row: SignOff) -> dict[str, Any]:
    """Everything the row says, for the chain. Needs `supersedes` at hand."""
    return {
        "property": row.property_id,
        "number": row.number,
        "inspection": row.inspection_id,
        "task": row.task_id,
        "result": str(row.result),
        "seen_by": row.seen_by,
        "seen_at": instant(row.seen_at),
        "note": row.note,
        "supersedes": row.supersedes.number if row.supersedes else None,
        "reason": row.reason,
        "stated": row.stated,
        "recorded_by": row.recorded_by_id,
        "recorded_at": instant(row.recorded_at),
        "previous_digest": row.previous_digest,
    }
