"""Rows named in a body by their ids: looked up in one query, and never too many."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from rest_framework import serializers
from rest_framework.relations import MANY_RELATION_KWARGS

Row = TypeVar("Row", bound=Model)

MOST_ROWS = 1000
LARGEST_ID = 9_223_372_036_854_775_807


class RowField(serializers.PrimaryKeyRelatedField[Any]):
    """One row by its id, which is a whole number."""

    default_error_messages = {"does_not_exist": "Id {pk_value} does not exist."}

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, float) or not isinstance(data, int | str):
            self.fail("incorrect_type", data_type=type(data).__name__)
        return super().to_internal_value(data)

    @classmethod
    def many_init(cls, *args: Any, **kwargs: Any) -> RowsField:
        child = cls(queryset=kwargs.get("queryset"), read_only=kwargs.get("read_only", False))
        kept = {name: kwargs[name] for name in MANY_RELATION_KWARGS if name in kwargs}
        return RowsField(child_relation=child, **kept)


class RowsField(serializers.ManyRelatedField):
    """Rows by their ids. The stock field asks the database once per id."""

    default_error_messages = {
        "too_many": "Name at most {most} rows.",
        "does_not_exist": "Id {missing} does not exist.",
        "incorrect_type": "Ids are whole numbers.",
    }

    def to_internal_value(self, data: Any) -> list[Any]:
        if isinstance(data, str) or not isinstance(data, list):
            self.fail("not_a_list", input_type=type(data).__name__)
        if not self.allow_empty and not data:
            self.fail("empty")
        if len(data) > MOST_ROWS:
            self.fail("too_many", most=MOST_ROWS)
        if any(type(item) is not int for item in data):
            self.fail("incorrect_type")
        rows: Any = self.child_relation.get_queryset()
        return in_order(rows, data, self)


def in_order(
    rows: QuerySet[Row], ids: list[int], field: serializers.Field[Any, Any, Any, Any]
) -> list[Row]:
    """The rows of these ids in their order, each once; a field error names what is not there."""
    found = rows.in_bulk([key for key in ids if abs(key) <= LARGEST_ID])
    if missing := [key for key in dict.fromkeys(ids) if key not in found]:
        field.fail("does_not_exist", missing=", ".join(map(str, missing[:5])))
    return [found[key] for key in dict.fromkeys(ids)]
