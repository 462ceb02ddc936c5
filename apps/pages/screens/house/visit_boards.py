"""Boards kept open for a visit: asked for on a page of their own, ended, held again."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.open_boards import NewNeed, until_words
from apps.pages.screens.house.visits import page_of, visit_of
from apps.pages.screens.house.writing import REFUSALS, blame, refuse_changed, write
from apps.pages.visiting import Visiting, house_page, page
from apps.trades import services
from apps.trades.models import AccessNeed, Visit
from renovation.errors import Problem, field_problem

LONGEST_NOTE = 1000
ALSO = {"area": "marks", "route": "marks", "visit": "until"}


@house_page
def boards_page(request: HttpRequest, found: Visiting, visit_id: int) -> HttpResponse:
    """The form."""
    visit = visit_of(found, visit_id)
    return shown(request, found, visit, NewNeed(house=found.house))


@house_action
def add(request: HttpRequest, found: Visiting, visit_id: int) -> Done | HttpResponse:
    """Keep boards open for the visit: one need for boards that lie together, one for a joist."""
    visit, form = visit_of(found, visit_id), NewNeed(request.POST, house=found.house)
    status: int = HTTPStatus.BAD_REQUEST
    if form.is_valid():
        try:
            with transaction.atomic():
                needs = save(found, visit, form.cleaned_data)
        except REFUSALS as exc:
            status = blame(form, exc, ALSO)
        else:
            fields: dict[str, Any] = {
                "kind": "need", "ids": [need.pk for need in needs], "added": 1,
                "property": found.house.pk, "back": page_of(visit),
            }  # fmt: skip
            words = f"Open for {visit}: {needs[0].purpose}, {until_words(needs[0])}."
            return Done(words, back=page_of(visit), undo=Undo(reverse("house-remove"), fields))
    return shown(request, found, visit, form, status=status)


def save(found: Visiting, visit: Visit, said: dict[str, Any]) -> list[AccessNeed]:
    rest = {name: said[name] for name in ("floor", "purpose", "open_as", "until", "until_date")}
    if said["clearance_mm"] is not None:
        rest["clearance_mm"] = said["clearance_mm"]
    who = {"property": found.house, "trade": visit.trade, "visit": visit}
    return [write(KINDS["need"], found, {**who, **rest, **place}) for place in said["places"]]


@house_action
def release(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """They need not stay open any more, and why."""
    need = need_of(found, need_id)
    note = request.POST.get("note", "").strip()[:LONGEST_NOTE]
    if not note:
        raise field_problem("/note", "Say why they need not stay open, in a few words.")
    refuse_changed(request, need, now=until_words(need))
    services.release_need(need=need, note=note, at=found.now)
    undo = Undo(reverse("house-need-hold", args=[need.pk]), {"property": need.property_id})
    return Done(f"Not held open any more: {need}.", back=back_of(need), undo=undo)


@house_action
def hold(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """Undo: they stay open for it after all."""
    need = need_of(found, need_id)
    note = need.release_note
    refuse_changed(request, need, now=until_words(need))
    services.hold_need_again(need=need)
    undo = None
    if note:
        fields: dict[str, Any] = {"note": note, "property": need.property_id}
        undo = Undo(reverse("house-need-release", args=[need.pk]), fields)
    return Done(f"Held open again: {need}, {until_words(need)}.", back=back_of(need), undo=undo)


def need_of(found: Visiting, need_id: int) -> AccessNeed:
    need: AccessNeed = KINDS["need"].row(found.house, need_id)
    if need.visit is None:
        raise Problem("not-found", f"{need} is for no visit.", status_code=404)
    return need


def back_of(need: AccessNeed) -> str:
    return reverse("house-visits-one", args=[need.visit_id])


def shown(
    request: HttpRequest,
    found: Visiting,
    visit: Visit,
    form: NewNeed,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "visit": visit,
        "form": form,
        "back_address": page_of(visit),
        "over": visit.state == Visit.State.DONE,
        "floors": form.fields["floor"].queryset.exists(),  # type: ignore[attr-defined]
    }
    return page(request, found, "pages/house/boards.html", context, here="house", status=status)
