"""What the record's free-form columns may hold."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError

DAYS_A_WEEK = 7


def weekdays(value: Any) -> None:
    """Check `[0, 2, 4]`, Monday = 0, each day once."""
    good = (
        isinstance(value, list)
        and all(type(day) is int and 0 <= day < DAYS_A_WEEK for day in value)
        and len(set(value)) == len(value)
    )
    if not good:
        raise ValidationError("Give weekdays as numbers from 0 (Monday) to 6 (Sunday), each once.")
