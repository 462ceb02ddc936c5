"""The morning brief: what is to be done today and what must stay open, as a plain text mail.

Off until the server has a way to send (`LIFTED_BOARDS_EMAIL_URL`) and the house says to whom.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from smtplib import SMTPException
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import send_mail
from django.db import IntegrityError, transaction

from apps.floors.words import listed
from apps.planning.clock import say, say_date
from apps.planning.floor_order import mark_key
from apps.planning.models import Brief, PlanningPreferences
from apps.planning.routine.times import day_due
from apps.property.models import Property

log = logging.getLogger(__name__)

LATE = timedelta(hours=3)
"""A brief that could not be sent is tried again so long; then the day has begun."""


def send_briefs(*, now: datetime) -> None:
    """Send the brief of each house whose time has come, once a day."""
    if not settings.SENDS_MAIL:
        return
    for wants in PlanningPreferences.objects.exclude(brief_to="").select_related("property"):
        house = wants.property
        on = day_due(now, ZoneInfo(house.timezone), wants.brief_at, within=LATE)
        if on is not None and not Brief.objects.filter(property=house, on=on).exists():
            try:
                send_brief(house, to=wants.brief_to, on=on, now=now)
            except Exception:
                # A house whose rows make no sense keeps no other from its brief.
                log.exception("the brief of %s could not be written", house)


def send_brief(house: Property, *, to: str, on: date, now: datetime) -> None:
    """Send one. The row is the claim; without the mail there is none, and the next beat tries."""
    subject, text = brief(house, now=now)
    try:
        with transaction.atomic():
            Brief.objects.create(property=house, on=on)
            send_mail(subject, text, settings.DEFAULT_FROM_EMAIL, [to])
    except IntegrityError:
        log.info("the brief of %s was sent already", house)
    except (OSError, SMTPException):
        log.exception("the brief of %s could not be sent", house)


def brief(house: Property, *, now: datetime) -> tuple[str, str]:
    """Its subject and text."""
    # Nights and holds need the geometry library, which takes a while to load.
    from apps.planning.selectors import board_holds  # noqa: PLC0415
    from apps.planning.tonight import tonight  # noqa: PLC0415

    zone = ZoneInfo(house.timezone)
    today = now.astimezone(zone).date()
    found = tonight(house, now=now)
    sections = [
        (work_heading(found["on"], today), list(work_lines(found, zone))),
        ("What must stay open", list(open_lines(board_holds(house, now=now), now))),
        ("Ways through the house tonight", [route["sentence"] for route in found["ways"]]),
        ("Look at before you go", list(measure_lines(found["measures"], zone))),
        ("Who comes", list(coming_lines(found["coming"], zone))),
    ]
    text = "\n\n".join(
        "\n".join([heading, *(f"- {line}" for line in lines or ["Nothing."])])
        for heading, lines in sections
    )
    return f"{house}: {say_date(today)}", f"{text}\n"


def work_heading(on: date | None, today: date) -> str:
    if on is None:
        return "Nothing is planned"
    return "Today" if on == today else f"Nothing today; next on {say_date(on)}"


def work_lines(found: dict[str, Any], zone: ZoneInfo) -> Iterator[str]:
    for row in found["todo"]:
        place = f" ({row['place']})" if row["place"] else ""
        yield f"{row['starts'].astimezone(zone):%H:%M} {row['task']}{place}, {row['minutes']} min"
    for row in found["left"]:
        yield f"Left over: {row['task']}, {row['left_minutes']} min"


def open_lines(holds: Iterable[dict[str, Any]], now: datetime) -> Iterator[str]:
    """One line for each need whose boards are open, or are to be by tomorrow."""
    soon = now + timedelta(days=1)
    groups: dict[int, list[dict[str, Any]]] = {}
    for hold in holds:
        begins = hold["open_from"]
        if not hold["released"] and (begins is None or begins <= soon):
            groups.setdefault(hold["access_need"], []).append(hold)
    for group in groups.values():
        first = group[0]
        marks = listed(sorted((hold["mark"] for hold in group), key=mark_key))
        yield (
            f"{first['floor_name']}: {marks} {first['open_as']} for {first['for']['name']} "
            f"({first['reason']}). {first['release']}"
        )


def measure_lines(measures: Iterable[dict[str, Any]], zone: ZoneInfo) -> Iterator[str]:
    for row in measures:
        if row["due"]:
            yield f"{row['measure']}, last seen {say(row['seen'].astimezone(zone))}"


def coming_lines(coming: Iterable[dict[str, Any]], zone: ZoneInfo) -> Iterator[str]:
    for row in coming:
        phone = f", {row['phone']}" if row["phone"] else ""
        yield f"{say(row['starts'].astimezone(zone))}: {row['title']}, {row['who']}{phone}"
