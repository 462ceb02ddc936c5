"""What is computed for one house on request: its week, board holds, alerts, nights."""

from __future__ import annotations

from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.helpers import forced_singular_serializer
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from apps.planning import selectors
from apps.planning.api.answers import (
    AlertSerializer,
    BoardHoldSerializer,
    NightSerializer,
    WeekSerializer,
)
from apps.property.models import Property
from renovation.errors import Problem, field_problem
from renovation.filters import refuse_others
from renovation.scope import visible
from renovation.viewsets import ContractView


class OfHouseSerializer(serializers.Serializer[Any]):
    """The query of a computed view."""

    property = serializers.IntegerField(min_value=1)
    on = serializers.DateField(required=False)
    floor = serializers.IntegerField(required=False)
    board = serializers.IntegerField(required=False)
    released = serializers.BooleanField(required=False, allow_null=True, default=None)
    planned = serializers.BooleanField(required=False, default=True)


class HouseView(ContractView[Property]):
    """A view computed for one house: `?property=` says which."""

    queryset = Property.objects.all()
    serializer_class = OfHouseSerializer
    filter_backends = ()
    asks: ClassVar[frozenset[str]] = frozenset()

    def asked(self) -> tuple[Property, dict[str, Any]]:
        paging = {"page", "page_size"} if self.pagination_class else set()
        refuse_others(self.request, {"property", *self.asks, *paging})
        query = OfHouseSerializer(data=self.request.query_params)
        if "property" not in self.request.query_params:
            raise field_problem("/property", "Say which house: ?property=…")
        query.is_valid(raise_exception=True)
        values = query.validated_data
        found = visible(Property.objects.all(), self.request.user).filter(pk=values["property"])
        house = found.first()
        if house is None:
            raise Problem("not-found", "There is no such house here.", status_code=404)
        return house, values

    def paged(
        self, found: list[dict[str, Any]], shape: type[serializers.Serializer[Any]]
    ) -> Response:
        """What was computed, in pages like every other list."""
        page = self.paginator.paginate_queryset(found, self.request, view=self)  # type: ignore[union-attr]
        return self.get_paginated_response(shape(page, many=True).data)


PROPERTY = OpenApiParameter("property", OpenApiTypes.INT, required=True, description="The house.")
PLANNED = OpenApiParameter(
    "planned",
    OpenApiTypes.BOOL,
    description="false: the boards as they lie now, whatever is planned.",
)
ON = OpenApiParameter("on", OpenApiTypes.DATE, description="A date; today when left out.")


class WeekViewSet(HouseView):
    """The week plan: days, working times, stints with their reasons, who and what comes."""

    asks = frozenset({"on"})
    pagination_class = None

    @extend_schema(
        parameters=[PROPERTY, ON],
        responses=forced_singular_serializer(WeekSerializer),  # type: ignore[no-untyped-call]
    )
    def list(self, request: Request) -> Response:
        """The seven days, Monday first, that hold a date. Without a plan the days are empty."""
        from apps.planning.week import week  # noqa: PLC0415 (geometry, 120 ms)

        house, values = self.asked()
        now = timezone.now()
        found = week(house, on=values.get("on") or selectors.local_today(house, now), now=now)
        return Response(WeekSerializer(found).data)


class BoardHoldViewSet(HouseView):
    """Which boards stay open for whom, why, and until what."""

    asks = frozenset({"on", "floor", "board", "released"})

    @extend_schema(
        parameters=[
            PROPERTY,
            OpenApiParameter("on", OpenApiTypes.DATE, description="Only holds open on that date."),
            OpenApiParameter("floor", OpenApiTypes.INT, description="Only boards of this floor."),
            OpenApiParameter("board", OpenApiTypes.INT, description="Only this board."),
            OpenApiParameter("released", OpenApiTypes.BOOL, description="Only released, or not."),
        ],
        responses=BoardHoldSerializer(many=True),
    )
    def list(self, request: Request) -> Response:
        """Every board and need, released ones too. Only what a need names releases it."""
        house, values = self.asked()
        found = [hold for hold in selectors.board_holds(house) if kept(hold, values, house)]
        return self.paged(found, BoardHoldSerializer)


def kept(hold: dict[str, Any], values: dict[str, Any], house: Property) -> bool:
    """Whether a hold is asked for by the query."""
    on = values.get("on")
    zone = ZoneInfo(house.timezone)
    opens, closes = hold["open_from"], hold["open_until"]
    return (
        values.get("board") in {None, hold["board"]}
        and values.get("floor") in {None, hold["floor"]}
        and values["released"] in {None, hold["released"]}
        and (
            on is None
            or (
                (opens is None or opens.astimezone(zone).date() <= on)
                and (closes is None or closes.astimezone(zone).date() >= on)
            )
        )
    )


class AlertViewSet(HouseView):
    """What to stop for, act on and watch: of the current plan, and as things stand."""

    @extend_schema(parameters=[PROPERTY], responses=AlertSerializer(many=True))
    def list(self, request: Request) -> Response:
        """The gravest first. `from_plan` is null for what holds whatever the plan says."""
        house, _ = self.asked()
        return self.paged(selectors.alerts(house), AlertSerializer)


class NightViewSet(HouseView):
    """Household routes night by night: whether they hold, and which boards to lay loose."""

    asks = frozenset({"on", "planned"})

    @extend_schema(parameters=[PROPERTY, ON, PLANNED], responses=NightSerializer(many=True))
    def list(self, request: Request) -> Response:
        """Seven nights from a date on, with the boards as the plan leaves them at 22:00.

        With `planned=false` as they lie now: for whoever is going to bed.
        """
        house, values = self.asked()
        now = timezone.now()
        first = values.get("on") or selectors.local_today(house, now)
        found = selectors.nights(house, first=first, days=7, now=now, planned=values["planned"])
        return self.paged(found, NightSerializer)
