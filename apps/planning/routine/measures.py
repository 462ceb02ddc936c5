"""Reminders by mail of temporary measures that nobody looked at in time."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from smtplib import SMTPException
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import send_mail
from django.db import IntegrityError, transaction

from apps.planning.clock import say
from apps.planning.models import MeasureReminder, PlanningPreferences
from apps.trades.models import TemporaryMeasure

log = logging.getLogger(__name__)


def remind(*, now: datetime) -> None:
    """Mail each house that has an address of what is overdue, once for each look missed."""
    if not settings.SENDS_MAIL:
        return
    for wants in PlanningPreferences.objects.exclude(brief_to="").select_related("property"):
        rows = TemporaryMeasure.objects.filter(
            property=wants.property, cleared_at=None, check_every_hours__isnull=False
        )
        for row in rows:
            seen = row.last_checked_at or row.since
            if now - seen > timedelta(hours=row.check_every_hours or 0):
                remind_of(row, seen=seen, to=wants.brief_to)


def remind_of(row: TemporaryMeasure, *, seen: datetime, to: str) -> None:
    """Send one. The row is the claim; without the mail there is none, and the next beat tries."""
    last = say(seen.astimezone(ZoneInfo(row.property.timezone)))
    text = (
        f"{row} is to be looked at every {row.check_every_hours} h and was last seen {last}. "
        "Look at it, and note that you have.\n"
    )
    if MeasureReminder.objects.filter(measure=row, last_seen_at=seen).exists():
        return
    try:
        with transaction.atomic():
            MeasureReminder.objects.create(measure=row, last_seen_at=seen)
            send_mail(f"{row.property}: look at {row}", text, settings.DEFAULT_FROM_EMAIL, [to])
    except IntegrityError:
        log.info("the reminder of %s was sent already", row)
    except (OSError, SMTPException):
        log.exception("the reminder of %s could not be sent", row)
