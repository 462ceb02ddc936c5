"""Form fields of the house screen: sizes as people write them, and rows of the same house."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.typed_lengths import typed_length_mm
from apps.pages.typed_sizes import typed_size_mm
from apps.property.models import Property

LONGEST_WRITTEN = 40
Folds = tuple[tuple[str, tuple[str, ...]], ...]
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class TypedLength(forms.CharField):
    """2400, 2.4m, 240cm or 7'10"; whole millimetres come out, None for nothing."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=LONGEST_WRITTEN, **options)

    def clean(self, value: Any) -> Any:
        written = super().clean(value)
        return read(typed_length_mm, written) if written else None


class TypedSize(forms.CharField):
    """3.62m x 4.1m or 11'10" x 9'; two whole numbers of millimetres come out, None for nothing."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=2 * LONGEST_WRITTEN, **options)

    def clean(self, value: Any) -> Any:
        written = super().clean(value)
        return read(typed_size_mm, written) if written else None


def read(how: Any, written: str) -> Any:
    try:
        return how(written)
    except ValueError as exc:
        raise ValidationError(str(exc)) from exc


def clock_field(label: str, initial: str = "", **options: Any) -> forms.TimeField:
    """A time of the house's clock."""
    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    return forms.TimeField(label=label, initial=initial or None, widget=widget, **options)


def date_field(label: str, **options: Any) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, widget=widget, **{"required": False, **options})


def moment_field(label: str, **options: Any) -> forms.DateTimeField:
    """A day and a time of the house's clock."""
    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    return forms.DateTimeField(label=label, required=False, widget=widget, **options)


def days_field(label: str = "On", **options: Any) -> forms.TypedMultipleChoiceField:
    return forms.TypedMultipleChoiceField(
        label=label, coerce=int, choices=list(enumerate(DAYS)),
        widget=forms.CheckboxSelectMultiple, **options,
    )  # fmt: skip


class HouseForm(forms.Form):
    """A form about one house: its choices of rows are that house's own and nobody else's.

    `folds` are fields that few need, under a word each; a fold stands open when something in it
    was said or is wrong. Those of `quiet_folds` always say something: they open for what is wrong.
    """

    folds: ClassVar[Folds] = ()
    quiet_folds: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, house: Property, row: Any = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self.house, self.row = house, row
        for field in self.fields.values():
            if isinstance(field, forms.ModelChoiceField) and field.queryset is not None:
                path = field.queryset.model.scope_path
                field.queryset = field.queryset.filter(**{path: house})

    def unfolded(self) -> Iterator[forms.BoundField]:
        """The fields that everybody sees."""
        away = {name for _, names in self.folds for name in names}
        return (self[name] for name in self.fields if name not in away)

    def folded(self) -> Iterator[dict[str, Any]]:
        """The others: their word, their fields, and whether they stand open."""
        for word, names in self.folds:
            fields = [self[name] for name in names if name in self.fields]
            wrong = bool(self.non_field_errors()) or any(field.errors for field in fields)
            said = word not in self.quiet_folds and any(self.said(field) for field in fields)
            yield {"word": word, "fields": fields, "open": wrong or said}

    def said(self, field: forms.BoundField) -> bool:
        """Whether somebody chose something else than what a new form offers."""
        usual = self.fields[field.name].initial
        return field.value() not in (usual, None, "", False, [])
