"""Visits of trades: wanted in a window or agreed to the minute, with their tasks; called off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import Folds, HouseForm, clock_field, date_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.open_boards import lines_of
from apps.pages.screens.house.writing import refuse_changed, write
from apps.pages.screens.trade_link.read import span, stands
from apps.pages.screens.week.supposed import visit_back
from apps.pages.visiting import Visiting
from apps.planning.clock import say_date
from apps.property.models import Property
from apps.trades import services
from apps.trades.models import Visit
from apps.work.models import Task, Trade
from renovation.errors import field_problem

AGREED = ("on", "at", "until")
OVER = (Visit.State.DONE, Visit.State.MISSED)


class TasksOfTrade(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    """Tasks of trades, each with whose it is while that is not chosen yet."""

    of_one = False

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.title) if self.of_one else f"{obj.title} ({obj.trade})"


class VisitForm(HouseForm):
    folds: ClassVar[Folds] = (("Only within a window", ("window_from", "window_to")),)

    trade = forms.ModelChoiceField(Trade.objects.all(), label="Who comes")
    title = forms.CharField(max_length=120, required=False, label="What for")
    minutes = forms.IntegerField(label="Minutes", initial=120, min_value=15, max_value=1440)
    tasks = TasksOfTrade(
        Task.objects.filter(trade__isnull=False).select_related("trade"),
        required=False, label="What they do then", widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    window_from = date_field("Not before")
    window_to = date_field("Not after")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        tasks: Any = self.fields["tasks"]
        if self.row is not None:
            tasks.of_one = True
            tasks.queryset = tasks.queryset.filter(trade=self.row.trade)
        else:
            tasks.queryset = tasks.queryset.exclude(status__in=("done", "dropped"))
        if not tasks.queryset.exists():
            del self.fields["tasks"]


class NewVisit(VisitForm):
    folds = (
        ("A time is agreed already", AGREED),
        ("Only within a window", ("window_from", "window_to")),
    )

    on = date_field("Day")
    at = clock_field("From", required=False)
    until = clock_field("Until", required=False)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if any(found.get(name) for name in AGREED):
            for name in AGREED:
                if not found.get(name) and name not in self.errors:
                    self.add_error(name, "Say the day, from when, and until when.")
        return found


def save_visit(found: Visiting, said: dict[str, Any]) -> list[Visit]:
    """A visit that is wanted, or agreed at once."""
    fields = {name: said[name] for name in VisitForm.base_fields if name in said}
    visit = write(KINDS["visit"], found, {"property": found.house, **fields})
    if said["on"]:
        agree_at(found, visit, said["on"], said["at"], said["until"])
    return [visit]


def agree_at(found: Visiting, visit: Visit, on: Any, at: Any, until: Any) -> None:
    starts, ends = (datetime.combine(on, time, found.zone) for time in (at, until))
    if starts >= ends:
        raise field_problem("/until", "It ends after it begins, on the same day.")
    services.agree_visit(visit=visit, starts=starts, ends=ends)


def visit_as_typed(row: Visit) -> dict[str, Any]:
    return {
        "trade": row.trade, "title": row.title, "minutes": row.minutes,
        "tasks": list(row.tasks.all()), "window_from": row.window_from,
        "window_to": row.window_to,
    }  # fmt: skip


class AgreeForm(forms.Form):
    on = date_field("Day", required=True)
    at = clock_field("From")
    until = clock_field("Until")


def told_of_visit(request: HttpRequest, found: Visiting, row: Visit) -> dict[str, Any]:
    """What the page of a visit shows beside its form."""
    zone = ZoneInfo(found.house.timezone)
    first: dict[str, Any] = {"at": row.trade.from_time}
    if row.starts and row.ends:
        starts, ends = row.starts.astimezone(zone), row.ends.astimezone(zone)
        first = {"on": starts.date(), "at": starts.time(), "until": ends.time()}
    return {
        "stands": stands(row),
        "agree_form": AgreeForm(initial=first),
        "needs": lines_of(row),
        "may_agree": row.state != Visit.State.DONE,
        "may_call_off": row.state in {Visit.State.ASKED, Visit.State.AGREED, Visit.State.MISSED},
    }


def back_to(visit: Visit) -> Undo:
    """The way back to how a visit stands now."""
    fields: dict[str, Any] = {"state": visit.state, "property": visit.property_id}
    for name in ("starts", "ends"):
        if at := getattr(visit, name):
            fields[name] = at.isoformat()
    return Undo(reverse("house-visit-back", args=[visit.pk]), fields)


def page_of(visit: Visit) -> str:
    return reverse("house-visits-one", args=[visit.pk])


def visit_of(found: Visiting, visit_id: int) -> Visit:
    visit: Visit = KINDS["visit"].row(found.house, visit_id)
    return visit


@house_action
def agree(request: HttpRequest, found: Visiting, visit_id: int) -> Done | HttpResponse:
    """Note the time that was agreed, or another one."""
    visit, form = visit_of(found, visit_id), AgreeForm(request.POST)
    if not form.is_valid():
        raise field_problem("/on", "Say the day, from when, and until when.")
    undo, told = back_to(visit), form.cleaned_data
    yours = f"{say_date(told['on'])}, {told['at']:%H:%M}–{told['until']:%H:%M}"
    refuse_changed(request, visit, now=stands(visit), yours=yours)
    agree_at(found, visit, told["on"], told["at"], told["until"])
    assert visit.starts is not None  # nosec B101 # it narrows a type
    assert visit.ends is not None  # nosec B101 # it narrows a type
    words = f"Agreed: {visit}, {span(visit.starts, visit.ends)}."
    return Done(words, back=page_of(visit), undo=undo)


@house_action
def call_off(request: HttpRequest, found: Visiting, visit_id: int) -> Done:
    """No time stands any more: it is wanted again. What it had released is held again."""
    visit = visit_of(found, visit_id)
    refuse_changed(request, visit, now=stands(visit))
    undo = back_to(visit)
    services.withdraw_visit(visit=visit)
    words = f"Called off: {visit}. It is wanted still, without a time; ring {visit.trade}."
    return Done(words, back=page_of(visit), undo=undo)


@house_action
def back(request: HttpRequest, found: Visiting, visit_id: int) -> Done:
    """Undo: as it stood before."""
    visit, state = visit_of(found, visit_id), request.POST.get("state", "")
    starts, ends = (moment_in(request, name) for name in ("starts", "ends"))
    if state not in Visit.State.values:
        raise field_problem("/state", "This cannot be undone from here.")
    visit_back(visit, state, starts, ends)
    if state == Visit.State.DONE:
        services.finish_visit(visit=visit, at=found.now)
    return Done(f"Undone: {visit} is {stands(visit)}.", back=page_of(visit))


def moment_in(request: HttpRequest, name: str) -> datetime | None:
    written = request.POST.get(name, "")
    try:
        at = datetime.fromisoformat(written) if written else None
    except ValueError:
        at = None
    if written and (at is None or at.tzinfo is None):
        raise field_problem(f"/{name}", "This cannot be undone from here.")
    return at


def visit_lines(house: Property) -> Iterable[Line]:
    for row in Visit.objects.filter(property=house).select_related("trade"):
        window = [
            f"from {row.window_from.day} {row.window_from:%b}" if row.window_from else "",
            f"to {row.window_to.day} {row.window_to:%b}" if row.window_to else "",
        ]
        said = [row.trade.name, stands(row), " ".join(word for word in window if word)]
        facts = ", ".join(word for word in said if word)
        yield Line("visit", row.pk, str(row), facts, over=row.state in OVER)
