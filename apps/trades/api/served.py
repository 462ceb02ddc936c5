"""Tasks and sign-offs as they are served: here it is known what their steps hold and release."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.serializers import BaseSerializer

from apps.inspections import services as inspection_services
from apps.inspections.api import SignOffViewSet as PlainSignOffViewSet
from apps.inspections.api.bodies import FinishBody, StartBody
from apps.inspections.models import SignOff
from apps.inspections.services import Override
from apps.trades import services
from apps.work.api.tasks import TaskViewSet as PlainTaskViewSet
from apps.work.models import Task


@extend_schema_view(
    start=extend_schema(request=StartBody), finish=extend_schema(request=FinishBody)
)
class TaskViewSet(PlainTaskViewSet):
    """What is to be done, by the crew or (with `trade`) by a trade.

    `floor_action` says what it does to a floor (lift, work_open, fix, stand_on), `area` or
    `route` with `clearance_mm` where; the boards follow from that. A task that an inspection
    blocks neither starts nor finishes before it is signed off, unless an owner gives an
    `override_reason`, which is recorded; a task done releases the boards that were held until
    then.
    """

    start_body = StartBody
    finish_body = FinishBody

    def start_task(self, task: Task, **said: Any) -> Task:
        return inspection_services.start_task(task=task, **self.overriding(said))

    def finish_task(self, task: Task, **said: Any) -> Task:
        return services.finish_task(task=task, noted_by=self.request.user, **self.overriding(said))

    def overriding(self, said: dict[str, Any]) -> dict[str, Any]:
        """A step's body, with the reason not to wait as the decision of the one who sent it."""
        reason = said.pop("override_reason", "")
        return {**said, "override": Override(self.request.user, reason) if reason else None}

    def reopen_task(self, task: Task) -> Task:
        return services.reopen_task(task=task)

    def refuse_change(self, task: Task, wanted: Mapping[str, Any]) -> None:
        if "trade" in wanted:
            services.refuse_leaving_visits(task=task, trade=wanted["trade"])

    def perform_update(self, serializer: BaseSerializer[Task]) -> None:
        self.refuse_change(cast("Task", serializer.instance), serializer.validated_data)
        serializer.save()


class SignOffViewSet(PlainSignOffViewSet):
    """What those who looked said, and hold points that an owner overrode. Only ever added to:
    a correction is a further row that `supersedes` the wrong one with a `reason`, and the
    latest look that stands decides the inspection's state. Acceptance releases the boards that
    were held for it; a later rejection holds them again.
    """

    def sign_off(self, **wanted: Any) -> SignOff:
        return services.sign_off(**wanted)
