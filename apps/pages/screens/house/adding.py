"""A part of the house's record: its page, and how a row is added to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.fields import HouseForm
from apps.pages.screens.house.writing import REFUSALS, blame
from apps.pages.visiting import Visiting, house_page, page
from apps.property.models import Property
from renovation.models import Record


@dataclass(frozen=True, slots=True)
class Line:
    """One thing there already: what it is, and what is known of it.

    Attributes:
        under: the heading that it stands under; lines of one heading come together.
        over: done with, and folded away.
        remove: where its own way of being taken off goes; empty for the usual one.
    """

    kind: str
    id: int
    words: str
    facts: str = ""
    under: str = ""
    over: bool = False
    remove: str = ""
    fields: Mapping[str, Any] = field(default_factory=dict)

    def said(self) -> str:
        """All its words, for finding it."""
        return f"{self.words} {self.facts} {self.under}".casefold()


MANY = 12
"""A list longer than this is folded under its headings, and can be searched."""
Save = Callable[[Visiting, dict[str, Any]], Sequence[Record] | Done]


@dataclass(frozen=True, slots=True)
class Part:
    """One page of the house screen.

    Attributes:
        name: in its address, /house/<name>/, and its url names, house-<name>.
        lead: what to do here, one sentence.
        form: what is typed.
        lines: what is there already.
        save: of what was typed, the rows added, or what was done instead.
        kind: of the rows added, a key of `KINDS`.
        edited: each line leads to a page of its own, `house-<name>-one`.
        list_first: what is there comes before the form, which is folded while there is something.
        plan_first: the plan is the form: one taps on it.
        also: the API's names of fields that have another name on the form.
        preview: url name of what is drawn while one types; empty for nothing.
        more: what else the page's template shows, of (request, visiting).
    """

    name: str
    title: str
    lead: str
    button: str
    form: type[HouseForm]
    lines: Callable[[Property], Iterable[Line]]
    save: Save
    kind: str
    edited: bool = False
    list_first: bool = False
    plan_first: bool = False
    also: Mapping[str, str] = field(default_factory=dict)
    preview: str = ""
    template: str = "pages/house/part.html"
    more: Callable[[HttpRequest, Visiting], dict[str, Any]] = field(
        default=lambda request, found: {}
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
        status: int = HTTPStatus.BAD_REQUEST
        if form.is_valid():
            try:
                with transaction.atomic():
                    saved = part.save(found, form.cleaned_data)
            except REFUSALS as exc:
                status = blame(form, exc, part.also)
            else:
                return saved if isinstance(saved, Done) else added(found, part, saved)
        return shown(request, found, part, form, status=status)

    return add


def added(found: Visiting, part: Part, rows: Sequence[Record]) -> Done:
    keys = {row.pk for row in rows}
    what = "; ".join(line.words for line in part.lines(found.house) if line.id in keys)
    undo = Undo(
        reverse("house-remove"),
        {"kind": part.kind, "ids": sorted(keys), "property": found.house.pk, "added": 1},
    )
    return Done(f"Added: {what}.", back=reverse(f"house-{part.name}"), undo=undo)


def shown(
    request: HttpRequest, found: Visiting, part: Part, form: HouseForm, *, status: int = 200
) -> HttpResponse:
    lines = list(part.lines(found.house))
    there = len(lines)
    find = request.GET.get("find", "").strip()
    if find:
        lines = [line for line in lines if find.casefold() in line.said()]
    context = {
        "part": part,
        "form": form,
        "lines": [line for line in lines if not line.over],
        "over": [line for line in lines if line.over],
        "there": there,
        "find": find,
        "long": there > MANY,
        "one": f"house-{part.name}-one" if part.edited else "",
        "add_address": reverse(f"house-{part.name}-add"),
        "preview_address": reverse(part.preview) if part.preview else "",
        "fold": part.list_first and there and not form.is_bound and not form.initial,
        **part.more(request, found),
    }
    return page(request, found, part.template, context, here="house", status=status)
