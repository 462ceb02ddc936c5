"""Validators for a house's clock: its zone, its region, its hours of loud work."""

from __future__ import annotations

import re
from datetime import time
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError

CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


def known_timezone(value: str) -> None:
    if value not in available_timezones():
        raise ValidationError(f"{value} is not a time zone name such as Europe/London.")


def known_region(country: str, subdivision: str) -> None:
    """Refuse a country or subdivision whose bank holidays nobody can look up.

    Raises:
        ValidationError: with the field to blame.
    """
    from holidays.utils import list_supported_countries  # noqa: PLC0415 (50 ms, writes only)

    known = list_supported_countries()
    if country not in known:
        raise ValidationError({"country": f"No bank holidays are known for {country!r}."})
    if subdivision and subdivision not in known[country]:
        raise ValidationError(
            {"subdivision": f"{country} has no part {subdivision!r}; leave it empty for all of it."}
        )


def weekly_hours(value: Any) -> None:
    """Check `[{"weekdays": [0, 1], "from": "08:00", "to": "18:00"}, …]`, Monday = 0."""
    example = 'Give hours as [{"weekdays": [0, 1, 2, 3, 4], "from": "08:00", "to": "18:00"}].'
    if not isinstance(value, list) or len(value) > 50:
        raise ValidationError(example)
    for item in value:
        if not isinstance(item, dict) or set(item) != {"weekdays", "from", "to"}:
            raise ValidationError(example)
        days = item["weekdays"]
        if not isinstance(days, list) or not all(type(d) is int and 0 <= d <= 6 for d in days):
            raise ValidationError("Weekdays are numbers from 0 (Monday) to 6 (Sunday).")
        if clock(item["from"]) >= clock(item["to"]):
            raise ValidationError("Hours end after they begin, on the same day.")


def clock(value: Any) -> time:
    """Read HH:MM.

    Raises:
        ValidationError: anything else, such as a time of another zone.
    """
    if not isinstance(value, str) or not CLOCK.fullmatch(value):
        raise ValidationError("Write times of day as HH:MM.")
    return time.fromisoformat(value)
