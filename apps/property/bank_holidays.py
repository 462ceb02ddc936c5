"""The bank holidays of a house's country, for days off and for notices.

Apart from `calendars.py` because the library is large: it is loaded only when asked.
"""

from __future__ import annotations

from datetime import date


def bank_holidays(
    country: str, subdivision: str | None, first_on: date, last_on: date
) -> dict[date, str]:
    """Name of each bank holiday from `first_on` to `last_on`, both included, in date order.

    Days given in lieu are in the list beside the days they stand for.

    Args:
        country: ISO 3166-1 alpha-2 code, e.g. "GB".
        subdivision: ISO 3166-2 part, e.g. "ENG"; None or "" for the whole country.

    Raises:
        ValueError: the country or the subdivision is not known.

    Limits: holidays proclaimed after the library's release are missing; add them as
        working-time exceptions.
    """
    from holidays import country_holidays  # noqa: PLC0415  (large; only when asked for)

    years = range(first_on.year, last_on.year + 1)
    try:
        found = country_holidays(country, subdiv=subdivision or None, years=years)
    except NotImplementedError as unknown:
        place = f"{country}-{subdivision}" if subdivision else country
        raise ValueError(f"no bank holidays are known for {place!r}") from unknown
    return {on: found[on] for on in sorted(found) if first_on <= on <= last_on}
