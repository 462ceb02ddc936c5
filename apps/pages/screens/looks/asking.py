"""Asking for a look: the notice that was given, the time that was agreed; each undone."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.dateparse import parse_date, parse_datetime, parse_time

from apps.inspections import services
from apps.inspections.models import Inspection
from apps.pages.actions import Done, house_action, moment
from apps.pages.base import Undo
from apps.pages.screens.looks.rows import inspection_of
from apps.pages.visiting import FIRST_YEAR, LAST_YEAR, Visiting, id_of
from apps.planning.clock import say
from renovation.errors import Problem, field_problem


def page_of(inspection: Inspection) -> str:
    return reverse("looks-inspection", args=[inspection.pk])


@house_action
def notify(request: HttpRequest, found: Visiting, inspection_id: int) -> Done:
    """Note that notice was given. Nothing is sent from here."""
    inspection = inspection_of(found, inspection_id)
    services.notify_inspection(inspection=inspection, at=moment(request, found))
    undo = Undo(reverse("looks-notice-back", args=[inspection.pk]))
    return Done(f"Noted: notice was given for {inspection}.", back=page_of(inspection), undo=undo)


@house_action
def withdraw(request: HttpRequest, found: Visiting, inspection_id: int) -> Done:
    """Undo: notice was not given after all."""
    inspection = inspection_of(found, inspection_id)
    services.withdraw_notice(inspection=inspection)
    return Done(f"Undone: no notice was given for {inspection}.", back=page_of(inspection))


@house_action
def book(request: HttpRequest, found: Visiting, inspection_id: int) -> Done:
    """Note the time that was agreed, or another one."""
    inspection = inspection_of(found, inspection_id)
    before = (inspection.booked_starts, inspection.booked_ends)
    starts, ends = agreed(request, found)
    services.book_inspection(inspection=inspection, starts=starts, ends=ends)
    undo = Undo(reverse("looks-book-back", args=[inspection.pk]))
    if before[0] and before[1]:
        was = {"starts": before[0].isoformat(), "ends": before[1].isoformat()}
        undo = Undo(reverse("looks-book", args=[inspection.pk]), was)
    when = say(starts.astimezone(found.zone))
    return Done(f"Booked: {inspection}, {when}.", back=page_of(inspection), undo=undo)


@house_action
def unbook(request: HttpRequest, found: Visiting, inspection_id: int) -> Done:
    """Undo: no time is agreed."""
    inspection = inspection_of(found, inspection_id)
    services.unbook_inspection(inspection=inspection)
    return Done(f"Undone: no time is agreed for {inspection}.", back=page_of(inspection))


def agreed(request: HttpRequest, found: Visiting) -> tuple[datetime, datetime]:
    """From when to when: instants of an Undo, else a day and two times of the house's clock.

    Raises:
        Problem: `invalid` at the field.
    """
    said = request.POST
    if said.get("starts"):
        starts, ends = (
            read(parse_datetime, said["starts"]),
            read(parse_datetime, said.get("ends", "")),
        )
        if starts and ends and starts.tzinfo and ends.tzinfo:
            return starts, ends
        raise field_problem("/starts", "That is no time.")
    on = read(parse_date, said.get("on", ""))
    if on is None or not FIRST_YEAR <= on.year <= LAST_YEAR:
        raise field_problem("/on", "Say on which day they come.")
    times = []
    for name, missing in (("from", "Say from when."), ("to", "Say until when.")):
        at = read(parse_time, said.get(name, ""))
        if at is None or at.tzinfo:
            raise field_problem(f"/{name}", missing)
        times.append(datetime.combine(on, at, found.zone))
    if times[1] <= times[0]:
        raise field_problem("/to", "It ends after it begins.")
    return times[0], times[1]


def read(parse: Any, written: str) -> Any:
    """What a parser of Django's makes of a field; None when it cannot be."""
    try:
        return parse(written)
    except ValueError:
        return None


@house_action
def add_usual(request: HttpRequest, found: Visiting) -> Done:
    """Add the looks that are usual in England, where they are not there yet."""
    rows = services.load_usual_inspections(house=found.house, dry_run=False)
    ids = [one.row.pk for one in rows if one.added]
    if not ids:
        return Done("The usual looks are all there.", back=reverse("looks"))
    undo = Undo(reverse("looks-usual-back"), {"looks": ids})
    many = "1 usual look" if len(ids) == 1 else f"{len(ids)} usual looks"
    return Done(f"Added: {many}. Remove what nobody asks for.", back=reverse("looks"), undo=undo)


@house_action
def remove_usual(request: HttpRequest, found: Visiting) -> Done:
    """Undo: the usual looks that nothing was done about go again."""
    ids = [id_of(written) or 0 for written in request.POST.getlist("looks")]
    rows = found.house.inspections.filter(pk__in=ids, state=Inspection.State.DUE)
    untouched = rows.exclude(usual="").filter(sign_offs=None, evidence=None)
    if untouched.count() != len(set(ids)):
        raise Problem("wrong-step", "Some of these looks are in use by now; none was removed.")
    for row in untouched:
        row.delete()
    return Done("Undone: those usual looks are gone.", back=reverse("looks"))
