"""The form that says when a visit might be instead."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from apps.trades.models import Visit

LONGEST_AHEAD = timedelta(days=365)


class AnotherTime(forms.Form):
    """A day, a time of the house's own clock, and how long."""

    on = forms.DateField(
        label="Day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    at = forms.TimeField(
        label="From", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    minutes = forms.IntegerField(label="Minutes", min_value=15, max_value=1440)

    def __init__(self, *args: Any, now: datetime, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.now, self.zone = now, zone
        self.fields["on"].widget.attrs["min"] = f"{now.astimezone(zone):%Y-%m-%d}"

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        on, at = found.get("on"), found.get("at")
        if on is None or at is None:
            return found
        starts = datetime.combine(on, at, self.zone)
        if starts <= self.now:
            self.add_error("on", "That is past; pick a time still to come.")
        elif starts > self.now + LONGEST_AHEAD:
            self.add_error("on", "Pick a day within a year.")
        return found

    def what_if(self, visit: Visit) -> dict[str, Any]:
        """The supposition, once the form is good."""
        told = self.cleaned_data
        starts = datetime.combine(told["on"], told["at"], self.zone)
        ends = starts + timedelta(minutes=told["minutes"])
        return {
            "visits": [{"id": visit.pk, "starts": starts.isoformat(), "ends": ends.isoformat()}]
        }


def usual(visit: Visit, planned: datetime | None, today: date, zone: ZoneInfo) -> dict[str, Any]:
    """What the form shows first: the time that stands, else the planned one."""
    stands = visit.starts if visit.starts and visit.state == Visit.State.AGREED else planned
    minutes = visit.minutes
    if visit.starts and visit.ends and stands == visit.starts:
        minutes = int((visit.ends - visit.starts) / timedelta(minutes=1))
    local = stands.astimezone(zone) if stands else None
    return {
        "on": local.date() if local else visit.window_from or today + timedelta(days=1),
        "at": local.time() if local else visit.trade.from_time,
        "minutes": minutes,
    }
