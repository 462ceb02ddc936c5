"""Bodies and query parameters of this app's actions."""

from __future__ import annotations

from datetime import date
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import Model, QuerySet
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request

from apps.property.models import Property
from apps.timber.pieces_as_data import Role
from renovation.errors import Problem, field_problem
from renovation.filters import refuse_others
from renovation.scope import may_change, visible

Row = TypeVar("Row", bound=Model)
ROLE = OpenApiParameter(
    "role", OpenApiTypes.STR, enum=[role.value for role in Role], required=True,
    description="What the piece is wanted as.",
)  # fmt: skip
LIMIT = OpenApiParameter(
    "limit_pct", OpenApiTypes.FLOAT, description="The wettest it may be [%]; 20 when left out."
)


class ReasonBody(serializers.Serializer[Any]):
    """Why."""

    reason = serializers.CharField(max_length=200)


class DefectsBody(serializers.Serializer[Any]):
    """Which of the piece's nails."""

    defects = serializers.ListField(
        child=serializers.IntegerField(min_value=1), allow_empty=False, max_length=200
    )


def role_asked(request: Request) -> str:
    """`?role=`, the only parameter there is.

    Raises:
        Problem: `invalid` at `/role`.
    """
    refuse_others(request, {"role"})
    asked = request.query_params.get("role", "")
    if asked not in list(Role):
        raise field_problem("/role", f"Say what it is wanted as: {', '.join(Role)}.")
    return asked


def limit_asked(request: Request) -> float:
    """`?limit_pct=`, the only parameter there is; 20 when left out.

    Raises:
        Problem: `invalid` at `/limit_pct`.
    """
    refuse_others(request, {"limit_pct"})
    field = serializers.FloatField(min_value=5, max_value=100)
    try:
        limit = float(field.run_validation(request.query_params.get("limit_pct", "20")))
    except serializers.ValidationError as exc:
        raise serializers.ValidationError({"limit_pct": exc.detail}) from exc
    if limit != limit:  # noqa: PLR0124 (NaN passes every comparison of the field)
        raise field_problem("/limit_pct", "A valid number is required.")
    return limit


def today_at(house: Property) -> date:
    """The day it is at the house."""
    return timezone.now().astimezone(ZoneInfo(house.timezone)).date()


def rows_of(queryset: QuerySet[Row], request: Any) -> QuerySet[Row]:
    """The rows that the sender of a body may name in it."""
    return visible(queryset, request.user)


def refuse_looking_only(request: Request, house_id: int) -> None:
    """Refuse a change of a house that the sender may only look at.

    Raises:
        Problem: `not-allowed`, 403.
    """
    if not may_change(request.user, house_id):
        raise Problem(
            "not-allowed", "You may look at this house but not change it.", status_code=403
        )
