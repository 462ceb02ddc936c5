"""Sunrise and sunset of a place, date by date.

Daylight is from sunrise to sunset as almanacs count it: the sun's upper edge on a level
horizon, with the usual refraction (centre 50 arc minutes below it). The astronomy is `astral`'s.
Near the poles there are days without either: all day, or none of it, is light.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from .calendars import first_instant

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Daylight:
    """One date's light, as instants in UTC; both None when it stays dark.

    On a date without sunset the light lasts from local midnight to local midnight.
    """

    on: date
    rises: datetime | None
    sets: datetime | None


def daylight(
    latitude_deg: float, longitude_deg: float, dates: Iterable[date], zone: ZoneInfo
) -> Iterator[Daylight]:
    """The light of each local date. Degrees north and east; south and west are negative."""
    # 40 ms, and only for houses that say where they are.
    from astral import Observer  # noqa: PLC0415
    from astral.sun import elevation, noon, sunrise, sunset  # noqa: PLC0415

    place = Observer(latitude=latitude_deg, longitude=longitude_deg)
    for on in dates:
        try:
            # The sunrise and sunset around this date's own noon, whatever their UTC dates.
            midday = noon(place, on, tzinfo=zone)
            day = midday.astimezone(zone).date()
            yield Daylight(
                on,
                sunrise(place, day, tzinfo=zone).astimezone(UTC),
                sunset(place, day, tzinfo=zone).astimezone(UTC),
            )
        except ValueError:
            # Neither rises nor sets: what the noon is like, the day is like.
            if elevation(place, noon(place, on, tzinfo=UTC)) > 0:
                midnight = first_instant(on, time(0), zone)
                yield Daylight(on, midnight, first_instant(on + _DAY, time(0), zone))
            else:
                yield Daylight(on, None, None)
