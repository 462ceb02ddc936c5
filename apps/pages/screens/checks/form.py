"""The form of a check: few fields first, the rest under More, sentences at their fields."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from apps.pages.screens.checks.shapes import Shape, shapes_of
from apps.pages.screens.checks.typed import MOST_ROWS, Texts, rows_of
from apps.pages.screens.checks.words import hint_of, label_of, said, words_of


@dataclass(frozen=True, slots=True)
class FormField:
    """One field as it is shown; `choices` are (value, words, chosen), empty for a typed one."""

    path: str
    label: str
    unit: str
    hint: str
    value: str
    choices: tuple[tuple[str, str, bool], ...]
    errors: tuple[str, ...]
    wide: bool = False

    @property
    def key(self) -> str:
        """Its id on the page."""
        return "f-" + self.path.replace(".", "-")

    @property
    def described_by(self) -> str:
        parts = [f"{self.key}-hint"] if self.hint else []
        return " ".join([*parts, *([f"{self.key}-error"] if self.errors else [])])


@dataclass(slots=True)
class Group:
    """Fields that belong together; what is seldom needed is under `more`."""

    key: str
    legend: str
    hint: str = ""
    first: list[FormField | Group] = field(default_factory=list)
    more: list[FormField | Group] = field(default_factory=list)
    errors: tuple[str, ...] = ()
    row: bool = False

    is_group = True

    @property
    def faulty(self) -> bool:
        """Whether a sentence stands somewhere within."""
        inside = [*self.first, *self.more]
        return bool(self.errors) or any(
            one.faulty if isinstance(one, Group) else bool(one.errors) for one in inside
        )

    @property
    def more_open(self) -> bool:
        return any(one.faulty if isinstance(one, Group) else bool(one.errors) for one in self.more)


@dataclass(frozen=True, slots=True)
class Filling:
    """What a form is filled with: texts and errors by path, and the paths that its start names."""

    texts: Texts
    errors: Mapping[str, list[str]]
    named: frozenset[str]

    def begun_with(self, path: str) -> bool:
        """Whether the form's start says something of a field."""
        return re.sub(r"\.\d+(?=\.|$)", "", path) in self.named


def named_in(start: Mapping[str, Any], path: str = "") -> frozenset[str]:
    """Paths that a start names, without the numbers of rows."""
    found: set[str] = set()
    for name, value in start.items():
        here = f"{path}{name}"
        found.add(here)
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, Mapping):
                found |= named_in(one, f"{here}.")
    return frozenset(found)


def form_of(asked: type, filling: Filling, *, path: str = "", legend: str = "") -> Group:
    """The fields of a dataclass."""
    group = Group(
        key="g-" + (path.rstrip(".").replace(".", "-") or "all"),
        legend=legend,
        errors=tuple(filling.errors.get(path.rstrip("."), ())),
    )
    for one in shapes_of(asked):
        here = f"{path}{one.name}"
        if one.name == "id":
            continue
        shown = whole(one, here, filling)
        among = group.first if one.needed or filling.begun_with(here) else group.more
        among.append(shown)
    return group


def whole(one: Shape, here: str, filling: Filling) -> FormField | Group:
    label, unit = label_of(one)
    if one.kind == "part":
        return form_of(one.inside, filling, path=f"{here}.", legend=label)
    if one.kind in {"rows", "pair"}:
        return rows(one, here, label, filling)
    value = filling.texts.get(here, "")
    return FormField(
        path=here,
        label=label,
        unit=unit,
        hint=hint_of(one),
        value=value,
        choices=choices_of(one, value),
        errors=tuple(filling.errors.get(here, ())),
        wide=one.kind in {"text", "word"},
    )


def rows(one: Shape, here: str, label: str, filling: Filling) -> Group:
    """The rows there are, and an empty one to add another by."""
    group = Group(
        key="g-" + here.replace(".", "-"), legend=label, hint=hint_of(one),
        errors=tuple(filling.errors.get(here, ())),
    )  # fmt: skip
    names = ("Left", "Right")
    if one.kind == "pair":
        for number in (0, 1):
            row = form_of(one.inside, filling, path=f"{here}.{number}.", legend=names[number])
            group.first.append(as_row(row))
        return group
    numbers = rows_of(filling.texts, here)
    for place, number in enumerate(numbers, start=1):
        row = form_of(one.inside, filling, path=f"{here}.{number}.", legend=f"{label} {place}")
        group.first.append(as_row(row))
    another = max(numbers, default=-1) + 1
    if another < MOST_ROWS:
        row = form_of(one.inside, filling, path=f"{here}.{another}.", legend="Add one")
        group.more.append(as_row(row))
    return group


def as_row(row: Group) -> Group:
    row.row = True
    row.first, row.more = [*row.first, *row.more], []
    return row


def choices_of(one: Shape, value: str) -> tuple[tuple[str, str, bool], ...]:
    known = [(str(word), said(word)) for word in words_of(one)]
    if one.kind == "flag":
        known = [("yes", "Yes"), ("no", "No")]
    if not known:
        return ()
    if value and value not in dict(known):
        known.append((value, value))
    return tuple((word, words, word == value) for word, words in (("", "–"), *known))
