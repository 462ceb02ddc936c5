"""A piece put on the pile by hand, put right, and taken off again."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action, refuse_stale
from apps.pages.base import Undo
from apps.pages.screens.timber.forms import ChangedPiece, NewPiece, TimberForm
from apps.pages.screens.timber.written import piece_of
from apps.pages.visiting import Visiting, house_page, page
from apps.timber.models import Piece
from apps.timber.services import pieces as services
from renovation.errors import Problem


def asked(
    request: HttpRequest, found: Visiting, form: TimberForm, *, heading: str, action: str,
    button: str, back: str = "", version: int | None = None,
) -> HttpResponse:  # fmt: skip
    """The page of a form; one with errors answers as refused."""
    shown = {
        "form": form, "heading": heading, "action": action, "button": button,
        "to": back or reverse("timber"), "version": version,
    }  # fmt: skip
    status = HTTPStatus.BAD_REQUEST if form.errors else HTTPStatus.OK
    return page(request, found, "pages/timber/new.html", shown, here="timber", status=status)


def ask_new(request: HttpRequest, found: Visiting, form: NewPiece) -> HttpResponse:
    return asked(
        request, found, form, heading="Add a piece", action=reverse("timber-add"),
        button="Put it on the pile",
    )  # fmt: skip


def ask_change(
    request: HttpRequest, found: Visiting, piece: Piece, form: ChangedPiece
) -> HttpResponse:
    return asked(
        request, found, form, heading=f"Put {piece} right",
        action=reverse("timber-change", args=[piece.pk]), button="Write it down",
        back=reverse("timber-piece", args=[piece.pk]), version=piece.version,
    )  # fmt: skip


@house_page
def new_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The form."""
    return ask_new(request, found, NewPiece())


@house_action
def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Put a piece on the pile."""
    form = NewPiece(request.POST)
    if form.refused(found.house.pk):
        return ask_new(request, found, form)
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


@house_page
def change_page(request: HttpRequest, found: Visiting, piece_id: int) -> HttpResponse:
    """The form, filled in with what is on record."""
    piece = piece_of(found, piece_id)
    return ask_change(request, found, piece, ChangedPiece(initial=written(piece)))


@house_action
def change(request: HttpRequest, found: Visiting, piece_id: int) -> Done | HttpResponse:
    """Put right what was written of a piece."""
    piece = piece_of(found, piece_id)
    refuse_stale(request, piece, **written(piece))
    form, before = ChangedPiece(request.POST), written(piece)
    if form.refused(found.house.pk, row=piece):
        return ask_change(request, found, piece, form)
    try:
        services.change_piece(piece=piece, **form.cleaned_data)
    except Problem as problem:
        if not form.blame(problem):
            raise
        return ask_change(request, found, piece, form)
    undo = Undo(reverse("timber-change", args=[piece.pk]), {**before, "version": piece.version})
    back = reverse("timber-piece", args=[piece.pk])
    return Done(f"Put right: {piece}.", back=back, undo=undo)


def written(piece: Piece) -> dict[str, Any]:
    """A piece as its form has it; a box that is not ticked is left out, as browsers do."""
    values = {name: getattr(piece, name) for name in ChangedPiece.base_fields}
    return {name: "on" if value is True else value for name, value in values.items()
            if value is not False}  # fmt: skip
