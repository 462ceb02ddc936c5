"""Planning over HTTP."""

from apps.planning.api.board_moves import BoardMoveViewSet
from apps.planning.api.house import AlertViewSet, BoardHoldViewSet, NightViewSet, WeekViewSet
from apps.planning.api.people import (
    PersonViewSet,
    WorkingTimeExceptionViewSet,
    WorkingTimeViewSet,
)
from apps.planning.api.plans import PlanViewSet
from apps.planning.api.tasks import TaskViewSet

ROUTES: tuple[tuple[str, type], ...] = (
    ("people", PersonViewSet),
    ("working-times", WorkingTimeViewSet),
    ("working-time-exceptions", WorkingTimeExceptionViewSet),
    ("plans", PlanViewSet),
    ("week", WeekViewSet),
    ("board-holds", BoardHoldViewSet),
    ("alerts", AlertViewSet),
    ("nights", NightViewSet),
    ("board-moves", BoardMoveViewSet),
    ("tasks", TaskViewSet),
)
