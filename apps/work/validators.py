"""What the record's free-form columns may hold."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError


def weekdays(value: Any) -> None:
    """Check `[0, 2, 4]`, Monday = 0, each day once."""
    good = (
        isinstance(value, list)
        and all(type(day) is int and 0 <= day <= 6 for day in value)
        and len(set(value)) == len(value)
    )
    if not good:
        raise ValidationError("Give weekdays as numbers from 0 (Monday) to 6 (Sunday), each once.")
