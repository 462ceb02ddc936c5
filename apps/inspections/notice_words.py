"""An inspection's notice, put together from the record."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from apps.inspections.models import Inspection
from apps.inspections.notice_text import Notice, earliest_look, notice_text

# Long enough for 60 working days of notice and a year's wait for a visiting day.
FAR = timedelta(days=500)


def notice_for(inspection: Inspection, *, by: Any, today: date) -> tuple[str, date]:
    """The text of a notice given today, and the first day for a look."""
    from apps.property.bank_holidays import bank_holidays  # noqa: PLC0415 (large library)

    house = inspection.property
    days_off = bank_holidays(house.country, house.subdivision, today, today + FAR)
    earliest_on = earliest_look(
        today,
        inspection.notice_working_days,
        inspection.visiting_days,
        days_off.keys(),
        office_days_only=inspection.by != Inspection.By.OWN_CHECK,
    )
    places = [str(inspection.floor)] if inspection.floor else []
    places += [str(room) for room in inspection.rooms.all()]
    name = by.get_full_name() or by.get_username()
    text = notice_text(
        Notice(
            what=inspection.title,
            places=places,
            house=house.name,
            address=house.address,
            reference=inspection.reference,
            note=inspection.note,
            working_days=inspection.notice_working_days,
            earliest_on=earliest_on,
            from_time=inspection.visiting_from,
            to_time=inspection.visiting_to,
            contact=f"{name}, {by.email}" if by.email else name,
        )
    )
    return text, earliest_on
