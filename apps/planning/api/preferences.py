"""What a house wants of the planner without asking each time, over HTTP."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.inspections.api.house import PropertyViewSet as PlainPropertyViewSet
from apps.planning.models import PlanningPreferences
from apps.planning.routine.services import preferences_of, set_preferences
from renovation.serializers import CheckedSerializer


class PlanningPreferencesSerializer(CheckedSerializer[PlanningPreferences]):
    """Plans made by themselves, and the morning brief."""

    class Meta:
        model = PlanningPreferences
        fields = [
            "version", "replans_at_night", "replans_after_edits", "replan_delay_minutes",
            "brief_to", "brief_at", "replan_at",
        ]  # fmt: skip
        read_only_fields = ["version", "replan_at"]


class PropertyViewSet(PlainPropertyViewSet):
    """The houses you are a member of. Who opens one becomes its owner."""

    @extend_schema(responses=PlanningPreferencesSerializer)
    @action(detail=True, url_path="planning-preferences")
    def planning_preferences(self, request: Request, pk: str) -> Response:
        """Plans made by themselves, and the morning brief: as set, or the defaults."""
        row = preferences_of(self.get_object())
        return Response(
            PlanningPreferencesSerializer(row, context=self.get_serializer_context()).data
        )

    @extend_schema(request=PlanningPreferencesSerializer, responses=PlanningPreferencesSerializer)
    @planning_preferences.mapping.patch
    def change_planning_preferences(self, request: Request, pk: str) -> Response:
        """Change some of them. Owners only."""
        row = preferences_of(self.get_object())
        context = self.get_serializer_context()
        wanted = PlanningPreferencesSerializer(
            row, data=request.data, partial=True, context=context
        )
        wanted.is_valid(raise_exception=True)
        row = set_preferences(row, by=request.user, **wanted.validated_data)
        # Nothing that a plan is made of.
        self._written = None
        return Response(PlanningPreferencesSerializer(row, context=context).data)
