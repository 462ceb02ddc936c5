"""Who comes from outside: trades, how to reach them, and when they come."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import DAYS, HouseForm, clock_field, days_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.property.models import Property
from apps.work.models import Trade

WEEKDAYS = [0, 1, 2, 3, 4]


class TradeForm(HouseForm):
    quiet_folds = ("When they come",)
    folds = (("When they come", ("days", "from_time", "to_time")),)

    name = forms.CharField(max_length=120, label="Who they are")
    craft = forms.ChoiceField(
        label="Trade", choices=[(one.value, one.label) for one in Trade.Craft]
    )
    phone = forms.CharField(
        max_length=40, required=False, label="Telephone",
        widget=forms.TextInput(attrs={"type": "tel"}),
    )  # fmt: skip
    notice_days = forms.IntegerField(
        label="Days of notice they need", initial=0, min_value=0, max_value=366
    )
    days = days_field("Days they come", required=False, initial=WEEKDAYS)
    from_time = clock_field("Not before", "08:00")
    to_time = clock_field("Not after", "17:00")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        # A form sent without these has said nothing of them: the usual day of a trade.
        for name in ("from_time", "to_time"):
            self.fields[name].required = False


def trade_said(found: Visiting, row: Trade | None, said: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in said.items() if value is not None}


def save_trade(found: Visiting, said: dict[str, Any]) -> list[Trade]:
    return [
        write(KINDS["trade"], found, {"property": found.house, **trade_said(found, None, said)})
    ]


def trade_as_typed(row: Trade) -> dict[str, Any]:
    return {
        "name": row.name, "craft": row.craft, "phone": row.phone, "notice_days": row.notice_days,
        "days": row.days or WEEKDAYS, "from_time": row.from_time, "to_time": row.to_time,
    }  # fmt: skip


def trade_lines(house: Property) -> Iterable[Line]:
    for row in Trade.objects.filter(property=house):
        days = ", ".join(DAYS[day][:3] for day in row.days or WEEKDAYS)
        facts = f"{row.get_craft_display()}, asked {row.notice_days} days ahead, comes {days}"
        yield Line("trade", row.pk, row.name, f"{facts}, {row.phone}" if row.phone else facts)
