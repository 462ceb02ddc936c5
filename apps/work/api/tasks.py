"""Work packages, tasks and tools over HTTP."""

from __future__ import annotations

from typing import Any, ClassVar

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.property.models import Property
from apps.work import clock, services
from apps.work.api.bodies import AtAndMinutesBody, AtBody, LeftBody, answer, read_body
from apps.work.api.sheets import TaskSheetMixin
from apps.work.models import Task, Tool
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class ToolSerializer(CheckedSerializer[Tool]):
    class Meta:
        model = Tool
        fields = ["id", "version", "property", "name", "quantity"]
        read_only_fields = ["version"]


class ToolViewSet(RecordViewSet[Tool]):
    """Tools of which there are only so many: no two tasks plan with the same one at once."""

    queryset = Tool.objects.all()
    serializer_class = ToolSerializer
    filterset_fields = {"property": ["exact"], "name": ["exact"], "quantity": ["gte", "lte"]}
    search_fields = ["name"]
    ordering_fields = ["id", "name", "quantity"]


class TaskSerializer(CheckedSerializer[Task]):
    """`status` only changes by start, finish, reopen and drop."""

    class Meta:
        model = Task
        fields = [
            "id", "version", "package", "title", "note", "room", "floor", "trade",
            "low_minutes", "likely_minutes", "high_minutes", "people", "splittable",
            "shortest_stint_minutes", "set_up_minutes", "clear_up_minutes", "loud", "outdoors",
            "tools", "earliest_start", "due", "due_weight", "status", "floor_action", "area",
            "route", "clearance_mm", "minutes_left", "minutes_left_at", "minutes_left_note",
            "started_at", "clock_from", "finished_at",
        ]  # fmt: skip
        read_only_fields = [
            "version", "status", "minutes_left", "minutes_left_at", "minutes_left_note",
            "started_at", "clock_from", "finished_at",
        ]  # fmt: skip


class TaskFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="package__property", queryset=Property.objects.all()
    )

    class Meta:
        model = Task
        fields = {
            "package": ["exact"], "room": ["exact", "isnull"], "floor": ["exact", "isnull"],
            "trade": ["exact", "isnull"], "tools": ["exact"], "status": ["exact", "in"],
            "floor_action": ["exact", "in"], "loud": ["exact"], "outdoors": ["exact"],
            "earliest_start": ["gte", "lte", "isnull"], "due": ["gte", "lte", "isnull"],
            "minutes_left_at": ["gte", "lte", "isnull"],
            "started_at": ["gte", "lte", "isnull"], "clock_from": ["gte", "lte", "isnull"],
            "finished_at": ["gte", "lte", "isnull"],
        }  # fmt: skip


class TaskViewSet(TaskSheetMixin, RecordViewSet[Task]):
    """What is to be done, by the crew or (with `trade`) by a trade.

    `floor_action` says what it does to a floor (lift, work_open, fix, stand_on), `area` or
    `route` with `clearance_mm` where; the boards follow from that.
    """

    queryset = Task.objects.select_related("package", "floor").prefetch_related("tools")
    serializer_class = TaskSerializer
    filterset_class = TaskFilter
    search_fields = ["title", "note"]
    ordering_fields = [
        "id", "title", "status", "due", "earliest_start", "likely_minutes", "started_at",
        "finished_at",
    ]  # fmt: skip

    start_body: ClassVar[type[AtBody]] = AtBody
    finish_body: ClassVar[type[AtAndMinutesBody]] = AtAndMinutesBody

    def start_task(self, task: Task, **said: Any) -> Task:
        """Override where more is known of what a start must wait for."""
        return services.start_task(task=task, **said)

    def finish_task(self, task: Task, **said: Any) -> Task:
        """Override where more is known of what hangs on a task's end."""
        return services.finish_task(task=task, noted_by=self.request.user, **said)

    def reopen_task(self, task: Task) -> Task:
        """Override together with `finish_task`, which it undoes."""
        return services.reopen_task(task=task)

    @extend_schema(request=AtBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def start(self, request: Request, pk: str) -> Response:
        """Begin it. Undone by `reopen/`."""
        task, body = self.get_object(), read_body(self.start_body, request)
        return answer(self, self.start_task(task, **body))

    @extend_schema(request=AtAndMinutesBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        """Leave it for now, and note the minutes it was: given, or on its clock."""
        task, body = self.get_object(), read_body(AtAndMinutesBody, request)
        clock.stop_clock(task=task, noted_by=request.user, **body)
        return answer(self, task)

    @extend_schema(request=AtBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"], url_path="carry-on")
    def carry_on(self, request: Request, pk: str) -> Response:
        """Be at it again: the clock runs from `at`, or from now."""
        task, body = self.get_object(), read_body(AtBody, request)
        return answer(self, clock.carry_on(task=task, **body))

    @extend_schema(request=AtAndMinutesBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        """End it, started or not. Undone by `reopen/`."""
        task, body = self.get_object(), read_body(self.finish_body, request)
        return answer(self, self.finish_task(task, **body))

    @extend_schema(request=AtAndMinutesBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def drop(self, request: Request, pk: str) -> Response:
        """Decide against it. Undone by `reopen/`."""
        task = self.get_object()
        body = read_body(AtAndMinutesBody, request)
        return answer(self, services.drop_task(task=task, noted_by=request.user, **body))

    @extend_schema(request=LeftBody, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def left(self, request: Request, pk: str) -> Response:
        """Say how much of it is left, whatever it was meant to take; null takes that back."""
        task, body = self.get_object(), read_body(LeftBody, request)
        return answer(self, services.say_minutes_left(task=task, **body))

    @extend_schema(request=None, responses=TaskSerializer)
    @action(detail=True, methods=["post"])
    def reopen(self, request: Request, pk: str) -> Response:
        """Undo the last step: done is doing again, started or dropped is to do again."""
        return answer(self, self.reopen_task(self.get_object()))
