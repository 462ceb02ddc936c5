"""What is wanted of timber: written down, dropped, met from elsewhere, and wanted again."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.timber.adding import asked
from apps.pages.screens.timber.forms import NewNeed
from apps.pages.screens.timber.written import need_of
from apps.pages.visiting import Visiting, house_page
from apps.timber.models import Need
from apps.timber.services import needs as services
from renovation.errors import field_problem

LONGEST_REASON = 200


def ask_new(request: HttpRequest, found: Visiting, form: NewNeed) -> HttpResponse:
    return asked(
        request, found, form, heading="Timber is wanted", action=reverse("timber-need-add"),
        button="Write it down",
    )  # fmt: skip


@house_page
def new_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The form."""
    return ask_new(request, found, NewNeed())


@house_action
def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Write down what is wanted."""
    form = NewNeed(request.POST)
    if form.refused(found.house.pk):
        return ask_new(request, found, form)
    need = Need.objects.create(property=found.house, **form.cleaned_data)
    undo = Undo(reverse("timber-need-remove", args=[need.pk]))
    return Done(f"Wanted: {need}.", back=page_of(need), undo=undo)


@house_action
def remove(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """Undo: as if it had never been noted."""
    need = need_of(found, need_id)
    services.remove_need(need=need)
    return Done(f"Taken off the record: {need}.", back=reverse("timber"))


@house_action
def drop(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """Not wanted any more, and why."""
    need = need_of(found, need_id)
    services.drop_need(need=need, reason=reason_of(request))
    return Done(f"Not wanted any more: {need}.", back=page_of(need), undo=open_again(need))


@house_action
def meet(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """It came from elsewhere, and from where."""
    need = need_of(found, need_id)
    services.meet_need(need=need, reason=reason_of(request))
    return Done(f"Met: {need}.", back=page_of(need), undo=open_again(need))


@house_action
def reopen(request: HttpRequest, found: Visiting, need_id: int) -> Done:
    """Wanted after all."""
    need = need_of(found, need_id)
    how = "timber-need-met" if need.state == Need.State.MET else "timber-need-drop"
    reason = need.state_reason
    services.reopen_need(need=need)
    undo = Undo(reverse(how, args=[need.pk]), {"reason": reason})
    return Done(f"Wanted again: {need}.", back=page_of(need), undo=undo)


def reason_of(request: HttpRequest) -> str:
    reason = request.POST.get("reason", "").strip()[:LONGEST_REASON]
    if not reason:
        raise field_problem("/reason", "Say why, in a few words.")
    return reason


def open_again(need: Need) -> Undo:
    return Undo(reverse("timber-need-reopen", args=[need.pk]))


def page_of(need: Need) -> str:
    return reverse("timber-need", args=[need.pk])
