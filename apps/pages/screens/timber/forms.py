"""Forms of a piece and of a need, their lengths as people write them."""

from __future__ import annotations

from copy import copy
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from apps.checks.strength import CLASSES
from apps.pages.screens.timber.written import LONGEST_WRITTEN
from apps.pages.typed_lengths import typed_length_mm
from apps.timber.models import Need, Piece
from apps.timber.pieces_as_data import GradeBasis, Role, Source, Stored
from renovation.errors import Problem

STORED_WORDS = {
    "dry": "in a dry room", "covered": "under a roof, open to the air", "outside": "in the rain",
}  # fmt: skip
SOURCE_WORDS = {"salvaged": "salvaged", "bought": "bought new", "offcut": "an offcut"}
BASIS_WORDS = {
    "assumed": "assumed", "stamped": "stamped on it", "graded_by": "graded by somebody",
}  # fmt: skip
LENGTH_HINT = "2400, 2.4m, 240cm or 7'10\"."


class TypedLength(forms.CharField):
    """2400, 2.4m, 240cm or 7'10"; whole millimetres come out."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=LONGEST_WRITTEN, **options)

    def clean(self, value: Any) -> Any:
        written = super().clean(value)
        try:
            return typed_length_mm(written)
        except ValueError as exc:
            raise ValidationError(str(exc)) from exc


def class_field(label: str) -> forms.ChoiceField:
    """A class of EN 338, or none."""
    words = [("", "none"), *((name, name) for name in CLASSES)]
    return forms.ChoiceField(required=False, label=label, choices=words)


class TimberForm(forms.Form):
    """Something with a section: the smaller side is the breadth, whichever was written first."""

    model: ClassVar[type[Piece] | type[Need]]

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if "breadth_mm" in found and "depth_mm" in found:
            sides = sorted([found["breadth_mm"], found["depth_mm"]])
            found["breadth_mm"], found["depth_mm"] = sides
        return found

    def refused(self, house_id: int, *, row: Piece | Need | None = None) -> bool:
        """Whether the record's own rules refuse it; said at its fields."""
        if not self.is_valid():
            return True
        candidate = self.model(property_id=house_id) if row is None else copy(row)
        for name, value in self.cleaned_data.items():
            setattr(candidate, name, value)
        try:
            candidate.full_clean()
        except ValidationError as exc:
            for name, errors in exc.error_dict.items():
                self.add_error(name if name in self.fields else self.place(errors), errors)
        return not self.is_valid()

    def place(self, errors: list[ValidationError]) -> str | None:
        """The field that a rule of the whole row is about."""
        said = " ".join(str(error.message) for error in errors)
        return next((name for word, name in PLACES if word in said and name in self.fields), None)

    def blame(self, problem: Problem) -> bool:
        """Say a refusal of a service at its field; False when it is about none of the form's."""
        found = {error["pointer"].strip("/"): error["detail"] for error in problem.errors}
        for name in set(found) & set(self.fields):
            self.add_error(name, found[name])
        return bool(set(found) & set(self.fields))


PLACES = (
    ("mark", "mark"), ("section", "breadth_mm"), ("long", "length_mm"),
    ("graded_by", "graded_by"), ("grade_why", "grade_why"), ("pieces alike", "quantity"),
)  # fmt: skip


class NewPiece(TimberForm):
    """What is seen of a piece at once; the rest is noted on its own page."""

    model = Piece

    mark = forms.CharField(
        max_length=12, label="Mark on the piece", help_text="As it is painted on, like T14."
    )
    length_mm = TypedLength(label="Length", help_text=LENGTH_HINT)
    breadth_mm = TypedLength(label="Section: one side")
    depth_mm = TypedLength(label="Section: other side")
    source = forms.ChoiceField(
        label="It is", choices=[(one.value, SOURCE_WORDS[one]) for one in Source]
    )
    stored = forms.ChoiceField(
        label="It lies",
        initial="covered",
        choices=[(one.value, STORED_WORDS[one]) for one in Stored],
    )
    origin = forms.CharField(max_length=200, required=False, label="Where it came from")
    treated = forms.BooleanField(required=False, label="Treated with preservative")


class ChangedPiece(NewPiece):
    """Everything that can be put right of a piece, but what lies along it."""

    species = forms.CharField(max_length=60, required=False, label="Species")
    strength_class = class_field("Strength class")
    grade_basis = forms.ChoiceField(
        label="The class is", choices=[(one.value, BASIS_WORDS[one]) for one in GradeBasis]
    )
    graded_by = forms.CharField(max_length=120, required=False, label="Graded or assumed by")
    grade_why = forms.CharField(max_length=300, required=False, label="Why it is assumed")
    note = forms.CharField(
        max_length=5000, required=False, label="Note", widget=forms.Textarea({"rows": 3})
    )


class NewNeed(TimberForm):
    """Timber that the job wants: so many pieces alike."""

    model = Need

    title = forms.CharField(
        max_length=120, label="What it is for", help_text="Such as: new end of J4."
    )
    role = forms.ChoiceField(
        label="It works as a", choices=[(one.value, one.value.replace("_", " ")) for one in Role]
    )
    quantity = forms.IntegerField(min_value=1, max_value=1000, initial=1, label="How many")
    length_mm = TypedLength(label="Length", help_text=LENGTH_HINT)
    breadth_mm = TypedLength(label="Section: one side")
    depth_mm = TypedLength(label="Section: other side")
    strength_class = class_field("At least of class")
    moisture_limit_pct = forms.FloatField(
        min_value=5, max_value=100, initial=20, required=False, label="At most so wet, %",
        help_text="Empty: however wet.",
    )  # fmt: skip
    needed_by = forms.DateField(
        required=False, label="Wanted by",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip
    treated = forms.BooleanField(required=False, label="Treated with preservative")
