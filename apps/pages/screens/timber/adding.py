"""A piece put on the pile by hand, its lengths as people write them."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.timber.written import LONGEST_WRITTEN, piece_of
from apps.pages.typed_lengths import typed_length_mm
from apps.pages.visiting import Visiting, house_page, page
from apps.timber.models import Piece
from apps.timber.pieces_as_data import Source, Stored
from apps.timber.services import pieces as services

STORED_WORDS = {
    "dry": "in a dry room", "covered": "under a roof, open to the air", "outside": "in the rain",
}  # fmt: skip
SOURCE_WORDS = {"salvaged": "salvaged", "bought": "bought new", "offcut": "an offcut"}


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


class NewPiece(forms.Form):
    """What is seen of a piece at once; the rest is noted on its own page."""

    mark = forms.CharField(
        max_length=12, label="Mark on the piece", help_text="As it is painted on, like T14."
    )
    length_mm = TypedLength(label="Length", help_text="2400, 2.4m, 240cm or 7'10\".")
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

    def clean(self) -> dict[str, Any]:
        """The smaller side is the breadth, whichever was written first."""
        found = super().clean() or {}
        if "breadth_mm" in found and "depth_mm" in found:
            sides = sorted([found["breadth_mm"], found["depth_mm"]])
            found["breadth_mm"], found["depth_mm"] = sides
        return found

    def refused(self, house_id: int) -> bool:
        """Whether the pile's own rules refuse it; said at its fields."""
        piece = Piece(property_id=house_id, **self.cleaned_data)
        try:
            piece.full_clean()
        except ValidationError as exc:
            for name, errors in exc.error_dict.items():
                self.add_error(name if name in self.fields else place(errors), errors)
        return not self.is_valid()


def place(errors: list[ValidationError]) -> str | None:
    """The field that a rule of the whole row is about."""
    said = " ".join(str(error.message) for error in errors)
    for word, name in (("mark", "mark"), ("section", "breadth_mm"), ("long", "length_mm")):
        if word in said:
            return name
    return None


@house_page
def new_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The form."""
    return page(request, found, "pages/timber/new.html", {"form": NewPiece()}, here="timber")


@house_action
def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Put a piece on the pile."""
    form = NewPiece(request.POST)
    if not form.is_valid() or form.refused(found.house.pk):
        return page(
            request, found, "pages/timber/new.html", {"form": form}, here="timber",
            status=HTTPStatus.BAD_REQUEST,
        )  # fmt: skip
    piece = services.add_piece(property=found.house, **form.cleaned_data)
    undo = Undo(reverse("timber-remove", args=[piece.pk]))
    back = reverse("timber-piece", args=[piece.pk])
    return Done(f"On the pile: {piece}. Note what is wrong along it.", back=back, undo=undo)


@house_action
def remove(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Undo: as if it had never been noted."""
    piece = piece_of(found, piece_id)
    services.remove_piece(piece=piece)
    return Done(f"Taken off the record: {piece}.", back=reverse("timber"))
