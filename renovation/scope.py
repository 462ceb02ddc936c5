"""Who may see and who may change a house: one rule for every endpoint."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)

WRITERS = ("owner", "helper")


def members_path(model: type[Model]) -> str:
    """The query path from a record to its house's members."""
    scope_path = str(getattr(model, "scope_path", "property"))
    return f"{scope_path}__members" if scope_path else "members"


def visible(queryset: QuerySet[Row], user: Any) -> QuerySet[Row]:
    """The rows of houses that the user is a member of."""
    if not user.is_authenticated:
        return queryset.none()
    return queryset.filter(**{f"{members_path(queryset.model)}__user": user})


def writable(queryset: QuerySet[Row], user: Any) -> QuerySet[Row]:
    """The rows of houses that the user may change."""
    path = members_path(queryset.model)
    return queryset.filter(**{f"{path}__user": user, f"{path}__role__in": WRITERS})


def may_change(user: Any, house_id: int) -> bool:
    """Whether the user may change the house of this id."""
    return bool(user.houses.filter(property=house_id, role__in=WRITERS).exists())
