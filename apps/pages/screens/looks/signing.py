"""Somebody looked: written down within half a minute, with its photo, and never rewritten."""

from __future__ import annotations

from datetime import date, datetime
from http import HTTPStatus
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.inspections.evidence import services as evidence_services
from apps.inspections.models import Inspection, SignOff
from apps.inspections.selectors import missing_of
from apps.inspections.services.sign_offs import Wanted
from apps.pages.actions import Done, from_queue, house_action, moment, photo_name
from apps.pages.screens.looks.rows import inspection_of
from apps.pages.screens.looks.words import LOOKS, RESULTS
from apps.pages.visiting import Visiting, page
from apps.trades import services
from apps.work.models import Task
from renovation.errors import Problem

MOST_CONDITIONS = 50
LONGEST_CONDITION = 500
NOT_UNDONE = "It stays in the record; a slip is put right below, with a reason."


class SignOffForm(forms.Form):
    """What the one who looked said. Times are of the house's own clock."""

    result = forms.ChoiceField(choices=LOOKS, error_messages={"required": "Say what they said."})
    seen_by = forms.CharField(
        max_length=120, error_messages={"required": "Say who looked."}
    )  # fmt: skip
    seen = forms.DateTimeField(
        required=False, error_messages={"invalid": "Say when, as a day and a time."}
    )
    note = forms.CharField(required=False, max_length=5000)
    conditions = forms.CharField(required=False)
    due_on = forms.DateField(required=False)
    waits = forms.ModelMultipleChoiceField(queryset=Task.objects.none(), required=False)
    requirement = forms.CharField(required=False, max_length=40)
    supersedes = forms.ModelChoiceField(queryset=SignOff.objects.none(), required=False)
    reason = forms.CharField(required=False, max_length=1000)

    def __init__(self, *args: Any, inspection: Inspection, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.now, self.inspection = now, inspection
        fields: Any = self.fields
        fields["waits"].queryset = inspection.blocks.all()
        fields["supersedes"].queryset = inspection.sign_offs.all()

    def clean_seen(self) -> datetime | None:
        seen: datetime | None = self.cleaned_data["seen"]
        if seen and seen > self.now:
            raise ValidationError("That is still to come; say when they looked.")
        return seen

    def clean_conditions(self) -> list[str]:
        """One a line."""
        lines = [line.strip() for line in self.cleaned_data["conditions"].splitlines()]
        said = [line for line in lines if line]
        if len(said) > MOST_CONDITIONS:
            raise ValidationError(f"Write at most {MOST_CONDITIONS} conditions.")
        if any(len(line) > LONGEST_CONDITION for line in said):
            raise ValidationError(f"A condition has at most {LONGEST_CONDITION} letters.")
        return said

    def clean_requirement(self) -> str:
        key: str = self.cleaned_data["requirement"]
        if key and key not in {item["key"] for item in self.inspection.required_evidence}:
            raise ValidationError("This look does not ask for that photo.")
        return key

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("supersedes") and not told.get("reason"):
            self.add_error("reason", "Say what was wrong; both stay in the record.")
        wanted = told.get("result") == SignOff.Result.ACCEPTED_WITH_CONDITIONS
        if wanted and not told.get("conditions") and "conditions" not in self.errors:
            self.add_error("conditions", "Write what they asked for, one thing a line.")
        if told.get("conditions") and not wanted:
            self.add_error(
                "conditions", "Only what is passed with conditions has conditions: take these out."
            )
        return told


def shown(
    found: Visiting, inspection: Inspection, form: SignOffForm | None = None
) -> dict[str, Any]:
    """The look's page, with a form that was filled in wrongly when there is one."""
    # The plan's reads bring geometry: 120 ms, not for every other page.
    from apps.pages.screens.looks.read import inspection_shown  # noqa: PLC0415 (see above)

    told = inspection_shown(inspection, by=found.user, today=found.today)
    form = form or SignOffForm(
        inspection=inspection, now=found.now, initial={"seen_by": told["who"]}
    )
    return {**told, "form": form, "now": found.now}


@house_action
def sign(request: HttpRequest, found: Visiting, inspection_id: int) -> Done | HttpResponse:
    """Write a look into the record, and its photo beside it."""
    inspection = inspection_of(found, inspection_id)
    form = SignOffForm(request.POST, inspection=inspection, now=found.now)
    if not form.is_valid():
        if from_queue(request):
            raise ValidationError(form.errors.as_data())
        told = shown(found, inspection, form)
        return page(
            request, found, "pages/looks/look.html", told, here="looks",
            status=HTTPStatus.BAD_REQUEST,
        )  # fmt: skip
    told = form.cleaned_data
    before: SignOff | None = told["supersedes"]
    if found.photo:
        keep_photo(request, found, inspection, told["requirement"])
    elif told["requirement"]:
        raise Problem("invalid", "Take the photo, or say that there is none.", status_code=400)
    recorded = services.sign_off(
        inspection=inspection,
        result=told["result"],
        seen_by=told["seen_by"],
        seen_at=told["seen"] or (before.seen_at if before else moment(request, found)),
        recorded_by=found.user,
        note=told["note"],
        supersedes=before,
        reason=told["reason"] if before else "",
        conditions=conditions_of(told["conditions"], told["due_on"], list(told["waits"])),
    )
    return Done(sentence(recorded), back=reverse("looks-inspection", args=[inspection.pk]))


def conditions_of(said: list[str], due_on: date | None, waits: list[Task]) -> list[Wanted]:
    return [{"text": text, "due_on": due_on, "blocks": waits} for text in said]


def keep_photo(
    request: HttpRequest, found: Visiting, inspection: Inspection, requirement: str
) -> None:
    assert found.photo is not None  # nosec B101 # it narrows a type
    asked = {item["key"]: item["title"] for item in inspection.required_evidence}
    evidence_services.keep_evidence(
        looked=found.photo, house=found.house, inspection=inspection, requirement=requirement,
        title=asked.get(requirement, f"{inspection}: as it was seen")[:200],
        uploaded_by=found.user, original_name=photo_name(request),
    )  # fmt: skip


def sentence(recorded: SignOff) -> str:
    """What was written down, what is still missing, and that it stays."""
    result = RESULTS[SignOff.Result(recorded.result)].lower()
    said = [f"In the record as number {recorded.number}: {recorded.inspection}, {result}."]
    if recorded.result != SignOff.Result.REJECTED:
        said += [missing.sentence for missing in missing_of([recorded.inspection])]
    return " ".join([*said, NOT_UNDONE])
