"""What is wanted of timber, put right: never over another's change, and with a way back."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.editing import show_both
from apps.pages.screens.timber.forms import NewNeed
from apps.pages.screens.timber.needs import page_of
from apps.pages.screens.timber.written import need_of
from apps.pages.visiting import Visiting, house_page, page
from apps.timber.models import Need
from apps.timber.services import needs as services
from renovation.errors import Problem

COMMITTED = (Need.State.PLANNED, Need.State.MET)


@house_page
def change_page(request: HttpRequest, found: Visiting, need_id: int) -> HttpResponse:
    """The form, filled in with what is on record."""
    need = need_of(found, need_id)
    return asked(request, found, need, NewNeed(initial=on_record(need)))


@house_action
def change(request: HttpRequest, found: Visiting, need_id: int) -> Done | HttpResponse:
    """Put right what was written of a need."""
    need = need_of(found, need_id)
    form, before = NewNeed(request.POST, initial=on_record(need)), as_sent(need)
    if request.POST.get("version", str(need.version)) != str(need.version):
        show_both(form, need)
        return asked(request, found, need, form, status=HTTPStatus.PRECONDITION_FAILED)
    if form.refused(found.house.pk, row=need):
        return asked(request, found, need, form, status=HTTPStatus.BAD_REQUEST)
    if all(value == getattr(need, name) for name, value in form.cleaned_data.items()):
        return Done(f"{need} is as it was.", back=page_of(need))
    try:
        services.change_need(need=need, **form.cleaned_data)
    except Problem as problem:
        form.add_error(None, problem.detail)
        return asked(request, found, need, form, status=HTTPStatus.CONFLICT)
    undo = Undo(reverse("timber-need-change", args=[need.pk]), {**before, "version": need.version})
    return Done(f"Put right: {need}.", back=page_of(need), undo=undo)


def on_record(need: Need) -> dict[str, Any]:
    """A need as its form begins with it, lengths as they would be typed."""
    return {
        name: str(value) if name.endswith("_mm") else value
        for name in NewNeed.base_fields
        for value in [getattr(need, name)]
    }


def as_sent(need: Need) -> dict[str, str]:
    """A need as its form sends it; a box that is not ticked is left out, as browsers do."""
    told = {"True": "on", "None": ""}
    return {
        name: told.get(str(value), str(value))
        for name, value in on_record(need).items()
        if value is not False
    }


def asked(
    request: HttpRequest, found: Visiting, need: Need, form: NewNeed, *, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {
        "form": form, "heading": f"Put {need} right", "button": "Write it down",
        "action": reverse("timber-need-change", args=[need.pk]), "to": page_of(need),
        "version": need.version, "stale": status == HTTPStatus.PRECONDITION_FAILED,
        "only": "Only what it is for and by when can change: its timber is cut, or to be cut."
        if need.state in COMMITTED else "",
    }  # fmt: skip
    return page(request, found, "pages/timber/new.html", context, here="timber", status=status)
