"""All joists of a floor checked in one call."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.checks.api.answering import told
from apps.checks.api.as_serializer import answer_of
from apps.checks.joist_input import CEILINGS
from apps.checks.strength import SERVICE_CLASSES, strength_class
from apps.floors.joist_checks import FloorChecked, check_floor
from apps.floors.joist_inputs import ASSUMED_CLASS, FloorLoads
from apps.floors.models import Floor
from renovation.filters import refuse_others
from renovation.viewsets import ContractView


class LoadsQuery(serializers.Serializer[Any]):
    """What is taken for granted of the floor."""

    dead_kn_m2 = serializers.FloatField(
        min_value=0, max_value=20, required=False,
        help_text="Boards and ceiling; left out: boards, and lath and plaster above the ground.",
    )  # fmt: skip
    imposed_kn_m2 = serializers.FloatField(min_value=0, max_value=20, default=1.5)
    ceiling = serializers.CharField(
        required=False, help_text="plastered or none; left out: plastered above the ground."
    )
    service_class = serializers.IntegerField(default=2)
    strutting_rows = serializers.IntegerField(min_value=0, max_value=10, default=0)
    strength_class = serializers.CharField(
        default=ASSUMED_CLASS, help_text="Of joists whose row and floor do not say: assumed."
    )

    def validate_ceiling(self, value: str) -> str:
        refuse_unknown(value, CEILINGS)
        return value

    def validate_service_class(self, value: int) -> int:
        refuse_unknown(value, tuple(SERVICE_CLASSES))
        return value

    def validate_strength_class(self, value: str) -> str:
        try:
            return strength_class(value).name
        except ValueError as exc:
            raise serializers.ValidationError(str(exc)) from exc


def refuse_unknown(value: Any, known: tuple[Any, ...]) -> None:
    if value not in known:
        raise serializers.ValidationError(f"It is one of {', '.join(map(str, known))}.")


class JoistChecksMixin(ContractView[Floor]):
    """Are the joists of this floor good enough?"""

    @extend_schema(parameters=[LoadsQuery], responses=answer_of(FloorChecked), filters=False)
    @action(detail=True, pagination_class=None)
    def checks(self, request: Request, pk: str) -> Response:
        """Every joist over its worst span, as it is: with its cuts, its decay, its readings.

        A preliminary check, not a design: see `cautions`.
        """
        floor = self.get_object()
        refuse_others(request, set(LoadsQuery().fields))
        query = LoadsQuery(data=request.query_params)
        query.is_valid(raise_exception=True)
        return Response(told(check_floor(floor, FloorLoads(**query.validated_data))))
