"""Form fields of the house screen: sizes as people write them, and rows of the same house."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.typed_lengths import typed_length_mm
from apps.pages.typed_sizes import typed_size_mm
from apps.property.models import Property

LONGEST_WRITTEN = 40


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


class HouseForm(forms.Form):
    """A form about one house: its choices of rows are that house's own and nobody else's."""

    def __init__(self, *args: Any, house: Property, **options: Any) -> None:
        super().__init__(*args, **options)
        self.house = house
        for field in self.fields.values():
            if isinstance(field, forms.ModelChoiceField) and field.queryset is not None:
                field.queryset = field.queryset.filter(property=house)
