"""When a trade comes, in words, and whether a supposed time is one of theirs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from apps.floors.words import listed
from apps.planning.clock import say
from apps.work.models import Trade

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
USUAL_DAYS = (0, 1, 2, 3, 4)


def comes(trade: Trade) -> str:
    """ "Perrin Sallow, plumber: comes Tue, Wed and Thu, 08:00–17:00; wants 5 days’ notice."."""
    days = listed([DAYS[day] for day in trade.days or USUAL_DAYS], shown=len(DAYS))
    notice = ""
    if trade.notice_days:
        plural = "day’s" if trade.notice_days == 1 else "days’"
        notice = f"; wants {trade.notice_days} {plural} notice"
    return f"{trade}: comes {days}, {trade.from_time:%H:%M}–{trade.to_time:%H:%M}{notice}."


def doubt(trade: Trade, supposed: Mapping[str, Any], zone: ZoneInfo) -> str:
    """What to ask about a supposed time outside the trade's days or hours; else empty."""
    starts, ends = (
        datetime.fromisoformat(supposed[name]).astimezone(zone) for name in ("starts", "ends")
    )
    same_day = starts.date() == ends.date()
    in_hours = trade.from_time <= starts.time() and ends.time() <= trade.to_time
    if starts.weekday() in (trade.days or USUAL_DAYS) and same_day and in_hours:
        return ""
    return f"{comes(trade)} Is {say(starts)}–{ends:%H:%M} possible?"
