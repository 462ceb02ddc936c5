"""A part of the house's record: its page, how a row is added to it, and how it is taken back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.fields import HouseForm
from apps.pages.visiting import Visiting, house_page, page
from apps.property.models import Property
from renovation.models import Record


@dataclass(frozen=True, slots=True)
class Line:
    """One thing there already: what it is, and what is known of it."""

    kind: str
    id: int
    words: str
    facts: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One page of the house screen.

    Attributes:
        name: in its address, /house/<name>/, and its url names, house-<name>.
        lead: what to do here, one sentence.
        form: what is typed.
        lines: what is there already.
        save: (house, cleaned fields) → the rows added; ValidationError names the field.
        kind: of the rows added, a key of `removing.KINDS`.
        more: what else the page's template shows, of (house, query).
    """

    name: str
    title: str
    lead: str
    button: str
    form: type[HouseForm]
    lines: Callable[[Property], Iterable[Line]]
    save: Callable[[Property, dict[str, Any]], Sequence[Record]]
    kind: str
    template: str = "pages/house/part.html"
    more: Callable[[HttpRequest, Property], dict[str, Any]] = field(
        default=lambda request, house: {}
    )


def page_of(part: Part) -> Any:
    """The part's page."""

    @house_page
    def part_page(request: HttpRequest, found: Visiting) -> HttpResponse:
        asked = {name: request.GET[name] for name in part.form.base_fields if name in request.GET}
        return shown(request, found, part, part.form(house=found.house, initial=asked))

    return part_page


def action_of(part: Part) -> Any:
    """What the part's form does."""

    @house_action
    def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
        form = part.form(request.POST, house=found.house)
        rows: Sequence[Record] = ()
        if form.is_valid():
            try:
                rows = part.save(found.house, form.cleaned_data)
            except ValidationError as exc:
                blame(form, exc)
        if form.errors:
            return shown(request, found, part, form, status=HTTPStatus.BAD_REQUEST)
        undo = Undo(
            reverse("house-remove"), {"kind": part.kind, "ids": [row.pk for row in rows]}
        )  # fmt: skip
        added = {row.pk for row in rows}
        what = "; ".join(line.words for line in part.lines(found.house) if line.id in added)
        back = reverse(f"house-{part.name}")
        return Done(f"Added: {what}.", back=back, undo=undo)

    return add


def shown(
    request: HttpRequest, found: Visiting, part: Part, form: HouseForm, *, status: int = 200
) -> HttpResponse:
    context = {
        "part": part,
        "form": form,
        "lines": list(part.lines(found.house)),
        "add_address": reverse(f"house-{part.name}-add"),
        **part.more(request, found.house),
    }
    return page(request, found, part.template, context, here="house", status=status)


def blame(form: HouseForm, exc: ValidationError) -> None:
    """Say what the record's rules refuse at the field it is about."""
    told = exc.error_dict if hasattr(exc, "error_dict") else {"": exc.error_list}
    for name, errors in told.items():
        form.add_error(name if name in form.fields else None, errors)


def checked(row: Any) -> Any:
    """Save a row that the record's own rules let through.

    Raises:
        ValidationError: with the field to blame.
    """
    row.full_clean()
    row.save()
    return row
