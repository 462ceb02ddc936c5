"""`?ordering=` that says so when a field cannot be ordered by."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Model, QuerySet
from rest_framework.filters import OrderingFilter
from rest_framework.request import Request
from rest_framework.views import APIView

from renovation.errors import field_problem


class CheckedOrderingFilter(OrderingFilter):
    """The stock filter drops an unknown field without a word; ours answers 400."""

    def remove_invalid_fields(
        self, queryset: QuerySet[Model], fields: Sequence[str], view: APIView, request: Request
    ) -> list[str]:
        context: dict[str, Any] = {"request": request}
        known = {name for name, _ in self.get_valid_fields(queryset, view, context)}
        for field in fields:
            if field.removeprefix("-") not in known:
                raise field_problem(
                    "", f"Cannot order by {field!r}; try one of {', '.join(sorted(known))}."
                )
        # The id behind the asked-for order, so that pages never repeat or skip a row.
        return [*fields, "pk"]
