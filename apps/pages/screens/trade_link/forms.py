"""What a trade may write with an answer."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from apps.trades.visit_links.models import LONGEST_NOTE

LONGEST_AHEAD = timedelta(days=366)


class NoteForm(forms.Form):
    """A word with the answer, if there is one to say."""

    note = forms.CharField(
        label="A word with it, if you like", required=False, max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 2}),
    )  # fmt: skip

    def times(self) -> tuple[datetime | None, datetime | None]:
        """Another time that would do; none here."""
        return None, None


class AnotherTimeForm(NoteForm):
    """The same, with a time that would do instead, in the house's own time."""

    on = forms.DateField(
        label="Another day", required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip
    at = forms.TimeField(
        label="From", required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )  # fmt: skip

    def __init__(
        self, *args: Any, now: datetime, zone: ZoneInfo, minutes: int, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.now, self.zone, self.minutes = now, zone, minutes

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        on, at = found.get("on"), found.get("at")
        if bool(on) != bool(at) and not self.errors:
            self.add_error("at" if on else "on", "Say the day and the time, or neither.")
        if on and at:
            starts = datetime.combine(on, at, self.zone)
            if not self.now < starts < self.now + LONGEST_AHEAD:
                self.add_error("on", "Say a day that is still to come, within a year.")
        return found

    def times(self) -> tuple[datetime | None, datetime | None]:
        on, at = self.cleaned_data.get("on"), self.cleaned_data.get("at")
        if not (on and at):
            return None, None
        starts = datetime.combine(on, at, self.zone)
        return starts, starts + timedelta(minutes=self.minutes)
