"""Tasks and sign-offs as they are served: here it is known what their steps hold and release."""

from __future__ import annotations

from datetime import datetime
from typing import Any, cast

from rest_framework.serializers import BaseSerializer

from apps.inspections import services as inspection_services
from apps.inspections.api import SignOffViewSet as PlainSignOffViewSet
from apps.inspections.models import SignOff
from apps.trades import services
from apps.work.api.tasks import TaskViewSet as PlainTaskViewSet
from apps.work.models import Task


class TaskViewSet(PlainTaskViewSet):
    """What is to be done, by the crew or (with `trade`) by a trade.

    `floor_action` says what it does to a floor (lift, work_open, fix, stand_on), `area` or
    `route` with `clearance_mm` where; the boards follow from that. A task that an inspection
    blocks neither starts nor finishes before it is signed off; a task done releases the
    boards that were held until then.
    """

    def start_task(self, task: Task, at: datetime) -> Task:
        return inspection_services.start_task(task=task, at=at)

    def finish_task(self, task: Task, at: datetime, minutes: int | None) -> Task:
        return services.finish_task(task=task, at=at, minutes=minutes, noted_by=self.request.user)

    def reopen_task(self, task: Task) -> Task:
        return services.reopen_task(task=task)

    def perform_update(self, serializer: BaseSerializer[Task]) -> None:
        wanted = serializer.validated_data
        if "trade" in wanted:
            task = cast("Task", serializer.instance)
            services.refuse_leaving_visits(task=task, trade=wanted["trade"])
        serializer.save()


class SignOffViewSet(PlainSignOffViewSet):
    """What those who looked said. Only ever added to: a correction is a further sign-off, and
    the latest look decides the inspection's state. Acceptance releases the boards that were
    held for it; a later rejection holds them again.
    """

    def sign_off(self, **wanted: Any) -> SignOff:
        return services.sign_off(**wanted)
