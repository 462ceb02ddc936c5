"""Numbers in words for sentences that a tired person reads."""

from __future__ import annotations

from .problem import QUARTER_MINUTES


def duration(quarters: int) -> str:
    """A length of time, e.g. "45 min", "2 h", "2 h 15 min", "3 days 4 h"."""
    minutes = quarters * QUARTER_MINUTES
    days, minutes = divmod(minutes, 24 * 60)
    hours, minutes = divmod(minutes, 60)
    parts = []
    if days:
        parts.append(f"{days} day{'s' if days > 1 else ''}")
    if hours:
        parts.append(f"{hours} h")
    if minutes or not parts:
        parts.append(f"{minutes} min")
    return " ".join(parts)
