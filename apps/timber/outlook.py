"""What a drying forecast says, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class Outlook(StrEnum):
    """What can be said of a piece and a limit."""

    NO_READING = "no_reading"
    DRY = "dry"
    DATE = "date"
    NEVER = "never"
    TOO_WET = "too_wet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """How a piece dries where it is.

    Attributes:
        begins: the first reading it goes by.
        begin_pct: moisture then, on the curve [%].
        settles_pct: the equilibrium where it is stored [%].
        days: time constant: after so long 63 % of the way is done [days].
        readings: how many it goes by; with one, `days` comes from the thickness.
        latest_on, latest_pct: the latest reading, corrected [%].
        wetted_on: when it was last found wetter than before.
        where: it is stored, in words.
        samples: other curves that explain the readings, (begin_pct, days) each.
    """

    begins: datetime
    begin_pct: float
    settles_pct: float
    days: float
    readings: int
    latest_on: date
    latest_pct: float
    wetted_on: date | None
    where: str
    samples: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """When a piece is no wetter than a limit.

    Attributes:
        outlook: what can be said; `sentence`: the same in words.
        limit_pct: the limit [%].
        curve: what it goes by; None without a reading.
        dry_on, early_on, late_on: likely day and the 80 % band; None where there is none. Of a
            piece too wet to say, `early_on` alone: not before that day.
    """

    outlook: Outlook
    sentence: str
    limit_pct: float
    curve: Curve | None = None
    dry_on: date | None = None
    early_on: date | None = None
    late_on: date | None = None


@dataclass(frozen=True, slots=True)
class Point:
    """A point of the curve for a chart [%]: likely, and the 80 % band."""

    on: date
    likely_pct: float
    low_pct: float
    high_pct: float
