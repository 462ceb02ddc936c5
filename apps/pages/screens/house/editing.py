"""One row's own page: what it says is changed, with a way back; never over another's change."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django import forms
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.fields import HouseForm
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import REFUSALS, as_it_is, blame, write
from apps.pages.visiting import Visiting, house_page, id_of, page
from renovation.errors import Problem, field_problem
from renovation.models import Record


@dataclass(frozen=True, slots=True)
class Edit:
    """How one kind of row is changed.

    Attributes:
        kind: a key of `KINDS`.
        one: url name of its page; `<one>-change` is what its form does.
        back: url name of the page it was found on, and what that link says.
        initial: the row as the form shows it.
        said: of (visiting, row, cleaned fields), what the API would be told.
        also: the API's names of fields that have another name on the form.
        locked: why it cannot be changed; empty when it can.
        more: what else the page shows, of (request, visiting, row).
    """

    kind: str
    one: str
    back: str
    back_words: str
    form: type[HouseForm]
    initial: Callable[[Any], dict[str, Any]]
    said: Callable[[Visiting, Any, dict[str, Any]], dict[str, Any]] = field(
        default=lambda found, row, said: said
    )
    also: Mapping[str, str] = field(default_factory=dict)
    locked: Callable[[Any], str] = field(default=lambda row: "")
    preview: str = ""
    removable: bool = True
    here: str = "house"
    template: str = "pages/house/one.html"
    more: Callable[[HttpRequest, Visiting, Any], dict[str, Any]] = field(
        default=lambda request, found, row: {}
    )

    def address(self, row: Record) -> str:
        """Where the row's page is. The house itself needs no id."""
        return reverse(self.one, args=[row.pk] if self.kind != "house" else [])


def page_of(edit: Edit) -> Any:
    """The row's page."""

    @house_page
    def row_page(request: HttpRequest, found: Visiting, row_id: int = 0) -> HttpResponse:
        row = KINDS[edit.kind].row(found.house, row_id or found.house.pk)
        form = edit.form(house=found.house, row=row, initial=edit.initial(row))
        return shown(request, found, edit, row, form)

    return row_page


def action_of(edit: Edit) -> Any:
    """What its form does."""

    @house_action
    def change(request: HttpRequest, found: Visiting, row_id: int = 0) -> Done | HttpResponse:
        kind = KINDS[edit.kind]
        row = kind.row(found.house, row_id or found.house.pk, locked=True)
        form = edit.form(request.POST, house=found.house, row=row, initial=edit.initial(row))
        if request.POST.get("version", str(row.version)) != str(row.version):
            show_both(form, row)
            return shown(
                request, found, edit, row, form, status=HTTPStatus.PRECONDITION_FAILED, stale=True
            )
        status: int = HTTPStatus.BAD_REQUEST
        if form.is_valid():
            if not form.changed_data:
                return Done(f"{row} is as it was.", back=edit.address(row))
            try:
                with transaction.atomic():
                    return changed(found, edit, row, edit.said(found, row, form.cleaned_data))
            except REFUSALS as exc:
                row.refresh_from_db()
                status = blame(form, exc, edit.also)
        return shown(request, found, edit, row, form, status=status)

    return change


def changed(found: Visiting, edit: Edit, row: Any, said: dict[str, Any]) -> Done:
    """Change it as the API would."""
    if why := edit.locked(row):
        raise Problem("wrong-step", why)
    kind = KINDS[edit.kind]
    before = as_it_is(kind, found, row, said)
    row = write(kind, found, said, row)
    return Done(f"Changed: {row}.", edit.address(row), put_back_by(found, edit.kind, row, before))


def put_back_by(found: Visiting, kind: str, row: Any, before: str) -> Undo:
    fields = {"kind": kind, "id": row.pk, "version": row.version, "before": before,
              "property": found.house.pk}  # fmt: skip
    return Undo(reverse("house-put-back"), fields)


@house_action
def put_back(request: HttpRequest, found: Visiting) -> Done:
    """Undo: some fields of a row as they were before, unless it changed once more since."""
    name = request.POST.get("kind", "")
    if name not in KINDS:
        raise Http404
    kind = KINDS[name]
    row = kind.row(found.house, id_of(request.POST.get("id", "")) or 0, locked=True)
    if request.POST.get("version") != str(row.version):
        raise Problem(
            "stale", f"{row} changed once more since; it stays as it is now.", status_code=412
        )
    try:
        before = json.loads(request.POST.get("before", ""))
    except ValueError:
        before = None
    if not isinstance(before, dict):
        raise field_problem("/before", "This cannot be undone from here.")
    row = write(kind, found, before, row)
    return Done(f"Undone: {row} is as it was.", back=reverse(kind.page))


def show_both(form: forms.Form, row: Record) -> None:
    """Say at each field that differs what the book has by now; what was typed stays in it."""
    form.is_valid()
    for name in form.changed_data:
        form.add_error(name, f"The book has by now: {in_words(form.fields[name], form[name])}")


def in_words(kind: forms.Field, bound: forms.BoundField) -> str:
    """What a field began with, as a person reads it."""
    value = bound.initial
    if isinstance(kind, forms.BooleanField):
        return "yes" if value else "no"
    if isinstance(kind, forms.ModelMultipleChoiceField):
        return ", ".join(map(str, value)) or "none"
    if isinstance(kind, forms.ModelChoiceField):
        return str(value) if value else "nothing"
    if isinstance(kind, forms.ChoiceField):
        choices: Any = kind.choices
        words = {str(key): str(word) for key, word in choices}
        many = value if isinstance(value, list) else [value]
        return ", ".join(words.get(str(one), str(one)) for one in many) or "none"
    shown_as = kind.widget.format_value(kind.prepare_value(value))
    return str(shown_as or "nothing").replace("T", " ")


def shown(
    request: HttpRequest,
    found: Visiting,
    edit: Edit,
    row: Any,
    form: HouseForm,
    *,
    status: int = HTTPStatus.OK,
    stale: bool = False,
) -> HttpResponse:
    locked = edit.locked(row)
    context = {
        "edit": edit,
        "row": row,
        "form": form,
        "stale": stale,
        "locked": locked,
        "change_address": edit.address(row) + "change/",
        "back_address": reverse(edit.back),
        "preview_address": f"{reverse(edit.preview)}?row={row.pk}" if edit.preview else "",
        "may_remove": edit.removable and not locked,
        **edit.more(request, found, row),
    }
    return page(request, found, edit.template, context, here=edit.here, status=status)
