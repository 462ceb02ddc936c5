"""What happens by itself: plans of the night and after edits, the brief, reminders."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.editing import show_both
from apps.pages.screens.house.fields import HouseForm, clock_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import REFUSALS, Sender, blame, plain
from apps.pages.screens.routine import read
from apps.pages.visiting import Visiting, house_page, page
from apps.planning.api.preferences import PlanningPreferencesSerializer
from apps.planning.models import PlanningPreferences
from apps.planning.routine.models import MOST_DELAY_MINUTES
from apps.planning.routine.services import preferences_of, set_preferences
from apps.property.services import is_owner, refuse_others_than_owners


class WantsForm(HouseForm):
    replans_at_night = forms.BooleanField(required=False, label="A new plan each night")
    replans_after_edits = forms.BooleanField(
        required=False, label="A new plan after something was changed"
    )
    replan_delay_minutes = forms.IntegerField(
        min_value=1, max_value=MOST_DELAY_MINUTES, label="Minutes it waits after the last change",
        help_text="Several changes give one plan. It never waits more than six times as long.",
    )  # fmt: skip
    brief_to = forms.EmailField(
        required=False, max_length=254, label="Mail goes to",
        help_text="The morning brief, and reminders of props and covers that nobody looked at in "
        "time. Empty: no mail.",
    )  # fmt: skip
    brief_at = clock_field("The brief comes at")


@house_page
def routine_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """How it is set, what happened last; for an owner, the form."""
    wants = preferences_of(found.house)
    return shown(request, found, wants, form_of(found, wants))


@house_action
def change(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Set it otherwise."""
    refuse_others_than_owners(house=found.house, by=found.user)
    # The house's row, so that two phones do not each write over the other.
    KINDS["house"].row(found.house, found.house.pk, locked=True)
    wants = preferences_of(found.house)
    form, before = form_of(found, wants, request.POST), as_typed(wants)
    if request.POST.get("version", str(wants.version)) != str(wants.version):
        show_both(form, wants)
        status: int = HTTPStatus.PRECONDITION_FAILED
        return shown(request, found, wants, form, status=status, stale=True)
    status = HTTPStatus.BAD_REQUEST
    if form.is_valid():
        if not form.changed_data:
            return Done("It is as it was.", back=reverse("by-itself"), for_plans=False)
        try:
            row = save(found, wants, form.cleaned_data)
        except REFUSALS as exc:
            status = blame(form, exc, {})
        else:
            fields: dict[str, str | int] = {
                **before,
                "version": row.version,
                "property": found.house.pk,
            }
            undo = Undo(reverse("by-itself-change"), fields)
            return Done(said(row), back=reverse("by-itself"), undo=undo, for_plans=False)
    return shown(request, found, wants, form, status=status)


def form_of(found: Visiting, wants: PlanningPreferences, sent: Any = None) -> WantsForm:
    names = WantsForm.base_fields
    return WantsForm(sent, house=found.house, initial={n: getattr(wants, n) for n in names})


def as_typed(wants: PlanningPreferences) -> dict[str, str]:
    """As the form sends it: a box that is not ticked is left out, as browsers do."""
    values = {name: getattr(wants, name) for name in WantsForm.base_fields}
    return {
        name: "on" if value is True else str(plain(value))
        for name, value in values.items()
        if value is not False
    }


def save(found: Visiting, wants: PlanningPreferences, told: dict[str, Any]) -> PlanningPreferences:
    """Set it as a PATCH would."""
    body = {name: plain(value) for name, value in told.items()}
    wanted = PlanningPreferencesSerializer(
        wants, data=body, partial=True, context={"request": Sender(found.user)}
    )
    wanted.is_valid(raise_exception=True)
    return set_preferences(wants, by=found.user, **wanted.validated_data)


def said(wants: PlanningPreferences) -> str:
    """How it is set, in one sentence."""
    plans = [
        word
        for word, on in (
            ("each night", wants.replans_at_night),
            (f"{wants.replan_delay_minutes} min after changes", wants.replans_after_edits),
        )
        if on
    ]
    mail = f"mail to {wants.brief_to} at {wants.brief_at:%H:%M}" if wants.brief_to else "no mail"
    return f"Set: a plan {' and '.join(plans) or 'only when asked for'}; {mail}."


def shown(
    request: HttpRequest,
    found: Visiting,
    wants: PlanningPreferences,
    form: WantsForm,
    *,
    status: int = HTTPStatus.OK,
    stale: bool = False,
) -> HttpResponse:
    context = {
        "form": form,
        "wants": wants,
        "stale": stale,
        "owns": is_owner(house=found.house, user=found.user),
        **read.shown(found, wants),
    }
    return page(request, found, "pages/routine/page.html", context, here="house", status=status)
