"""What the house shows when it is opened: noted where it is seen, taken back when it was a slip."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.property.models import Property, Room
from apps.work.models import Finding


@transaction.atomic
def note_finding(
    *,
    house: Property,
    kind: str,
    title: str,
    found_at: datetime,
    note: str = "",
    room: Room | None = None,
) -> Finding:
    """Note something that was found; nothing is decided about it yet.

    Raises:
        ValidationError: for a kind there is none of, or no title.
    """
    found = Finding(property=house, kind=kind, title=title, note=note, room=room, found_at=found_at)
    found.full_clean()
    found.save()
    return found


@transaction.atomic
def remove_finding(*, finding: Finding) -> None:
    """Take back what was noted by mistake.

    Raises:
        ProtectedError: when a repair or another record was made from it.
    """
    finding.delete()
