"""Query parameters of lists: filters, order, search. A slip in one is told, never ignored.

A misspelt filter that were passed over would answer with every row, and the reader would
believe it. So an unknown parameter is a 400, as is a wrong value. `errors` names a query
parameter as it names a field of a body: `/storey`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from django_filters.filters import BooleanFilter, QuerySetRequestMixin
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from django_filters.utils import get_model_field
from rest_framework.exceptions import ValidationError
from rest_framework.filters import OrderingFilter, SearchFilter
from rest_framework.request import Request
from rest_framework.settings import api_settings
from rest_framework.views import APIView

from renovation.errors import field_problem
from renovation.models import Record
from renovation.scope import visible

Row = TypeVar("Row", bound=Model)


class CheckedFilterBackend(DjangoFilterBackend):
    """Refuses unknown parameters, and sees no other house's rows as filter values."""

    def get_filterset(self, request: Any, queryset: QuerySet[Row], view: APIView) -> Any:
        filterset = super().get_filterset(request, queryset, view)
        refuse_unknown(request, view, filterset)
        for name, filter_ in filterset.filters.items() if filterset else ():
            if isinstance(filter_, BooleanFilter):
                refuse_half_truths(request, name)
            if filter_.lookup_expr == "in":
                refuse_unknown_words(request, name, queryset.model, str(filter_.field_name))
            if isinstance(filter_, QuerySetRequestMixin):
                rows = filter_.get_queryset(request)
                if rows is not None and issubclass(rows.model, Record):
                    filter_.queryset = visible(rows.all(), request.user)
        return filterset


def refuse_unknown(request: Request, view: Any, filterset: FilterSet | None) -> None:
    """Answer 400 to a query parameter that this list does not know."""
    known = {"page", "page_size", api_settings.ORDERING_PARAM}
    if getattr(view, "search_fields", None):
        known.add(api_settings.SEARCH_PARAM)
    if filterset is not None:
        known.update(filterset.filters)
    refuse_others(request, known)


def refuse_others(request: Request, known: set[str]) -> None:
    """Answer 400 to a query parameter that is none of these."""
    for name in request.query_params:
        if name not in known:
            step = name.replace("~", "~0").replace("/", "~1")
            raise field_problem(
                f"/{step}",
                f"There is no query parameter {name!r} here; there is {', '.join(sorted(known))}.",
            )


def refuse_half_truths(request: Request, name: str) -> None:
    """The stock widget takes anything that is neither true nor false for "not asked"."""
    if request.query_params.get(name, "1").lower() not in {"1", "0", "true", "false"}:
        raise field_problem(f"/{name}", "This is true or false.")


def refuse_unknown_words(request: Request, name: str, model: type[Model], field_name: str) -> None:
    """`?state__in=` takes any words, where `?state=` takes only those there are."""
    column = get_model_field(model, field_name)
    known = [str(value) for value, _ in column.flatchoices] if column and column.choices else []
    asked = request.query_params.get(name)
    for word in asked.split(",") if asked and known else ():
        if word not in known:
            raise field_problem(f"/{name}", f"{word[:40]!r} is none of {', '.join(known)}.")


class CheckedSearchFilter(SearchFilter):
    """The stock filter, with its errors pointing at the parameter."""

    def get_search_terms(self, request: Request) -> list[str]:
        try:
            return list(super().get_search_terms(request))
        except ValidationError as exc:
            raise ValidationError({self.search_param: exc.detail}) from exc


class CheckedOrderingFilter(OrderingFilter):
    """The stock filter drops an unknown field without a word; ours answers 400."""

    def remove_invalid_fields(
        self, queryset: QuerySet[Row], fields: Iterable[str], view: APIView, request: Request
    ) -> list[str]:
        context: dict[str, Any] = {"request": request}
        known = {str(name) for name, _ in self.get_valid_fields(queryset, view, context)}
        for field in fields:
            if field.removeprefix("-") not in known:
                raise field_problem(
                    f"/{self.ordering_param}",
                    f"Cannot order by {field!r}; try one of {', '.join(sorted(known))}.",
                )
        # The id behind the asked-for order, so that pages never repeat or skip a row.
        return [*fields, "pk"]
