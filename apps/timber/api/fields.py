"""What the serializers of this app share: whole millimetres, and numbers that are numbers."""

from __future__ import annotations

import math
from typing import Any, TypeVar

from django.db import models
from rest_framework import serializers

from apps.checks.strength import strength_class
from renovation.serializers import CheckedSerializer

Row = TypeVar("Row", bound=models.Model)


class MillimetresField(serializers.IntegerField):
    """A length in whole millimetres.

    A number with a point is refused even if its fraction is nothing: 2.0 is more likely metres
    than two millimetres.
    """

    default_error_messages = {
        "invalid": "Lengths are whole millimetres: 2400, not 2.4 m or 2.4.",
        "min_value": "A length in millimetres is {min_value} or more.",
        "max_value": "A length in millimetres is {max_value} at most.",
    }

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool | float) or (isinstance(data, str) and "." in data):
            self.fail("invalid")
        return super().to_internal_value(data)


class NumberField(serializers.FloatField):
    """A number; neither true nor "NaN" is one."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool):
            self.fail("invalid")
        value = super().to_internal_value(data)
        if not math.isfinite(value):
            self.fail("invalid")
        return value


class TimberSerializer(CheckedSerializer[Row]):
    """A `CheckedSerializer` that takes no other unit of length than the millimetre."""

    serializer_field_mapping = {
        **CheckedSerializer.serializer_field_mapping,
        models.FloatField: NumberField,
    }

    def build_standard_field(self, field_name: str, model_field: Any) -> Any:
        field_class, options = super().build_standard_field(field_name, model_field)
        return (MillimetresField if field_name.endswith("_mm") else field_class), options

    def validate_strength_class(self, value: str) -> str:
        """A class of EN 338 by its proper name, or none."""
        try:
            return strength_class(value).name if value else ""
        except ValueError as exc:
            raise serializers.ValidationError(str(exc)) from exc
