"""Deviations put and decided, certificates owed and received; each step with its way back."""

from __future__ import annotations

from datetime import date
from http import HTTPStatus
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.floors.models import Floor, Joist
from apps.inspections import services
from apps.inspections.evidence import services as evidence_services
from apps.inspections.models import Certificate, Deviation, Evidence, SignOff
from apps.inspections.offers import offered_deviations
from apps.pages.actions import Done, house_action, moment, photo_name
from apps.pages.base import Undo
from apps.pages.screens.looks.rows import named, row_of
from apps.pages.screens.looks.words import DEVIATIONS
from apps.pages.screens.tonight.actions import instant
from apps.pages.visiting import Visiting, date_of, page
from apps.work.models import Trade
from renovation.errors import Problem, field_problem


class NewDeviation(forms.Form):
    """What was specified, what is built instead, and why."""

    floor = forms.ModelChoiceField(
        queryset=Floor.objects.none(), required=False, empty_label="Of no one floor"
    )
    joist = forms.ModelChoiceField(
        queryset=Joist.objects.none(), required=False, widget=forms.HiddenInput
    )
    specified = forms.CharField(
        max_length=300, label="Specified", help_text="As the drawing or the letter says it."
    )
    built = forms.CharField(max_length=300, label="As built")
    why = forms.CharField(
        required=False, max_length=5000, label="Why",
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    def __init__(self, *args: Any, house: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["floor"].queryset = Floor.objects.filter(property=house).order_by("pk")
        fields["joist"].queryset = Joist.objects.filter(floor__property=house)


class NewCertificate(forms.Form):
    """A paper that somebody owes."""

    title = forms.CharField(max_length=120, label="Which paper")
    craft = forms.ChoiceField(
        label="Of which work", choices=[(one.value, one.label) for one in Trade.Craft]
    )
    trade = forms.ModelChoiceField(
        queryset=Trade.objects.none(), required=False, label="Owed by", empty_label="Not known yet"
    )
    due_on = forms.DateField(
        required=False, label="Due on", widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, *args: Any, house: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["trade"].queryset = Trade.objects.filter(property=house).order_by("name")


def shown(
    found: Visiting,
    deviation: NewDeviation | None = None,
    certificate: NewCertificate | None = None,
) -> dict[str, Any]:
    """Both lists, and the forms: a wrongly filled one as it was filled."""
    house = found.house
    looks = SignOff.objects.filter(property=house, superseded_by=None)
    return {
        "deviations": [
            {"row": row, "state": DEVIATIONS[Deviation.State(row.state)]}
            for row in house.deviations.select_related(
                "floor", "decided_by__inspection", "decided_letter"
            )
        ],
        "offers": offered_deviations(house),
        "deciders": looks.exclude(result=SignOff.Result.OVERRIDDEN).select_related("inspection"),
        "letters": house.evidence.filter(kind="document"),
        "certificates": house.certificates.select_related("trade").prefetch_related("evidence"),
        "deviation_form": deviation or NewDeviation(house=house),
        "certificate_form": certificate or NewCertificate(house=house),
        "today": found.today,
    }


def again(
    request: HttpRequest, found: Visiting, **forms_: Any
) -> HttpResponse:  # fmt: skip
    """The page with a form to be mended."""
    return page(
        request, found, "pages/looks/papers.html", shown(found, **forms_), here="looks",
        status=HTTPStatus.BAD_REQUEST,
    )  # fmt: skip


PAPERS = "looks-papers"


@house_action
def add_deviation(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Write down that something is built otherwise than specified."""
    form = NewDeviation(request.POST, house=found.house)
    if not form.is_valid():
        return again(request, found, deviation=form)
    told = form.cleaned_data
    if told["joist"] and (told["floor"] is None or told["joist"].floor_id != told["floor"].pk):
        raise field_problem("/floor", "That joist is of another floor.")
    row = Deviation(property=found.house, **told)
    row.full_clean()
    row.save()
    undo = Undo(reverse("looks-no-deviation", args=[row.pk]))
    return Done(f"Written down: {row}.", back=reverse(PAPERS), undo=undo)


def deviation_of(found: Visiting, key: int) -> Deviation:
    return row_of(Deviation.objects.filter(property=found.house), key)


@house_action
def remove_deviation(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """Undo; only while nobody was shown it."""
    row = deviation_of(found, row_id)
    services.refuse_unless_draft(row)
    said = str(row)
    row.delete()
    return Done(f"Removed: {said}.", back=reverse(PAPERS))


@house_action
def put(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """It was put to whoever decides."""
    row = deviation_of(found, row_id)
    if not row.why:
        why = request.POST.get("why", "").strip()
        if not why:
            raise field_problem("/why", "Say why before it is put to anyone.")
        row.change(why=why)
    services.put_deviation(deviation=row, at=moment(request, found))
    undo = Undo(reverse("looks-draft", args=[row.pk]))
    return Done(f"Put: {row}.", back=reverse(PAPERS), undo=undo)


@house_action
def back_to_draft(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """Undo: it was put to nobody."""
    row = deviation_of(found, row_id)
    services.back_to_draft(deviation=row)
    return Done(f"Undone: {row} was put to nobody.", back=reverse(PAPERS))


@house_action
def decide(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """It was accepted or refused, by which look or letter."""
    row = deviation_of(found, row_id)
    put_at, step = row.put_at, request.POST.get("step", "")
    if step not in {"accept", "refuse"}:
        raise Problem("invalid", "Say whether it was accepted or refused.", status_code=400)
    kind, _, key = request.POST.get("by", "").partition(":")
    looks = SignOff.objects.filter(property=found.house)
    letters = Evidence.objects.filter(property=found.house)
    by = named(looks, key) if kind == "look" else None
    letter = named(letters, key) if kind == "letter" else None
    if by is None and letter is None:
        raise field_problem("/by", "Say which look or letter decided it.")
    services.decide_deviation(
        deviation=row, step=step, at=moment(request, found), decided_by=by, decided_letter=letter
    )
    undo = Undo(
        reverse("looks-undecide", args=[row.pk]), {"put_at": put_at.isoformat() if put_at else ""}
    )
    word = "accepted" if step == "accept" else "refused"
    return Done(f"Noted as {word}: {row}.", back=reverse(PAPERS), undo=undo)


@house_action
def undecide(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """Undo: it is put, as it was, and not decided."""
    row = deviation_of(found, row_id)
    put_at = instant(request, "put_at")
    services.back_to_draft(deviation=row)
    if put_at:
        services.put_deviation(deviation=row, at=put_at)
    return Done(f"Undone: {row} is not decided.", back=reverse(PAPERS))


@house_action
def add_certificate(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """A paper is owed."""
    form = NewCertificate(request.POST, house=found.house)
    if not form.is_valid():
        return again(request, found, certificate=form)
    row = Certificate(property=found.house, **form.cleaned_data)
    row.full_clean()
    row.save()
    undo = Undo(reverse("looks-no-certificate", args=[row.pk]))
    return Done(f"Owed: {row}.", back=reverse(PAPERS), undo=undo)


def certificate_of(found: Visiting, key: int) -> Certificate:
    return row_of(Certificate.objects.filter(property=found.house), key)


@house_action
def remove_certificate(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """Undo: it is not owed. One that came stays."""
    row = certificate_of(found, row_id)
    if row.received_on:
        raise Problem("wrong-step", f"{row} was received; take that back first.")
    title = row.title
    row.delete()
    return Done(f"Removed: {title}.", back=reverse(PAPERS))


@house_action
def receive(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """It came; its file is kept beside it when there is one."""
    row = certificate_of(found, row_id)
    on: date | None = date_of(request.POST.get("received_on", ""), otherwise=found.today)
    if on is None or on > found.today:
        raise field_problem("/received_on", "Say on which day it came, today or before.")
    if found.photo:
        evidence_services.keep_evidence(
            looked=found.photo, house=found.house, title=row.title, certificate=row,
            uploaded_by=found.user, original_name=photo_name(request),
        )  # fmt: skip
    services.receive_certificate(certificate=row, received_on=on)
    undo = Undo(reverse("looks-came-back", args=[row.pk]))
    return Done(f"Received: {row}.", back=reverse(PAPERS), undo=undo)


@house_action
def not_received(request: HttpRequest, found: Visiting, row_id: int) -> Done:
    """Undo: it is owed still. A file that names it stays on file."""
    row = certificate_of(found, row_id)
    services.certificate_not_received(certificate=row)
    return Done(f"Undone: {row} is owed still.", back=reverse(PAPERS))
