"""Trades and their visits over HTTP."""

from __future__ import annotations

from typing import Any, cast

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.trades import services
from apps.trades.models import Visit
from apps.work.api.bodies import AtBody, TimesBody, answer, read_body
from apps.work.models import Trade
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class TradeSerializer(CheckedSerializer[Trade]):
    class Meta:
        model = Trade
        fields = [
            "id", "version", "property", "craft", "name", "phone", "days", "from_time", "to_time",
            "notice_days",
        ]  # fmt: skip
        read_only_fields = ["version"]


class TradeViewSet(RecordViewSet[Trade]):
    """Crafts and who does them: when they come, and how far ahead they need to be asked."""

    queryset = Trade.objects.all()
    serializer_class = TradeSerializer
    filterset_fields = {
        "property": ["exact"], "craft": ["exact", "in"], "notice_days": ["gte", "lte"],
    }  # fmt: skip
    search_fields = ["name", "phone"]
    ordering_fields = ["id", "craft", "name"]


class VisitSerializer(CheckedSerializer[Visit]):
    """`state` and the agreed times only change by actions."""

    class Meta:
        model = Visit
        fields = [
            "id", "version", "property", "trade", "title", "state", "starts", "ends",
            "window_from", "window_to", "minutes", "tasks", "certificates", "note",
        ]  # fmt: skip
        read_only_fields = ["version", "state", "starts", "ends"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        visit = self.instance
        trade = attrs.get("trade") or cast("Visit", visit).trade
        if visit is not None:
            services.refuse_another_trade(visit=visit, trade=trade)
        tasks = attrs.get("tasks", visit.tasks.all() if visit else [])
        services.refuse_tasks_of_others(trade=trade, tasks=tasks)
        return attrs


class VisitViewSet(RecordViewSet[Visit]):
    """Trades' comings: wanted in a window, asked for, agreed to the minute, done or missed.

    Two trades may be agreed for the same time; one trade cannot be here twice at once.
    """

    queryset = Visit.objects.select_related("trade").prefetch_related("tasks", "certificates")
    serializer_class = VisitSerializer
    filterset_fields = {
        "property": ["exact"], "trade": ["exact"], "state": ["exact", "in"], "tasks": ["exact"],
        "certificates": ["exact"],
        "starts": ["gte", "lte", "isnull"], "ends": ["gte", "lte", "isnull"],
        "window_from": ["gte", "lte", "isnull"], "window_to": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "note", "trade__name"]
    ordering_fields = ["id", "title", "state", "starts", "ends", "window_from", "window_to"]

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def ask(self, request: Request, pk: str) -> Response:
        """Record that the trade was asked. Undone by `withdraw/`."""
        return answer(self, services.ask_for_visit(visit=self.get_object()))

    @extend_schema(request=TimesBody, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def agree(self, request: Request, pk: str) -> Response:
        """Record the agreed time, or move it. Undone by `withdraw/`."""
        visit, body = self.get_object(), read_body(TimesBody, request)
        return answer(self, services.agree_visit(visit=visit, **body))

    @extend_schema(request=AtBody, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def done(self, request: Request, pk: str) -> Response:
        """Record that they have been; boards held until then are released. Undone by `reopen/`."""
        visit, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.finish_visit(visit=visit, **body))

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def missed(self, request: Request, pk: str) -> Response:
        """Record that they did not come. Undone by `reopen/`."""
        return answer(self, services.miss_visit(visit=self.get_object()))

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def reopen(self, request: Request, pk: str) -> Response:
        """Undo done or missed: agreed as before, and what was released is held again."""
        return answer(self, services.reopen_visit(visit=self.get_object()))

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """Back to wanted, without times; what was released is held again."""
        return answer(self, services.withdraw_visit(visit=self.get_object()))
