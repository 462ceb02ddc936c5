"""Tasks as they are served: their steps know of hold points, held boards and the board log."""

from __future__ import annotations

from typing import Any

from apps.planning import task_steps
from apps.trades.api.served import TaskViewSet as PlainTaskViewSet
from apps.work.models import Task


class TaskViewSet(PlainTaskViewSet):
    """What is to be done, by the crew or (with `trade`) by a trade.

    `floor_action` says what it does to a floor (lift, work_open, fix, stand_on), `area` or
    `route` with `clearance_mm` where; the boards follow from that. A task that an inspection
    blocks, or that would cover what one has yet to see, neither starts nor finishes before the
    sign-off, unless an owner gives an `override_reason`, which is recorded. A task done releases
    the boards that were held until then; what it lifted is up and what it fixed is fixed in the
    board log.
    """

    def start_task(self, task: Task, **said: Any) -> Task:
        return task_steps.start_task(task=task, **self.overriding(said))

    def finish_task(self, task: Task, **said: Any) -> Task:
        return task_steps.finish_task(
            task=task, noted_by=self.request.user, **self.overriding(said)
        )
