"""Planning over HTTP."""

from apps.planning.api.board_moves import BoardMoveViewSet
from apps.planning.api.feeds import CalendarFeedViewSet
from apps.planning.api.house import AlertViewSet, BoardHoldViewSet, NightViewSet, WeekViewSet
from apps.planning.api.odds import PaceViewSet
from apps.planning.api.people import (
    PersonViewSet,
    WorkingTimeExceptionViewSet,
    WorkingTimeViewSet,
)
from apps.planning.api.plans import PlanViewSet
from apps.planning.api.preferences import PropertyViewSet
from apps.planning.api.tasks import TaskViewSet

ROUTES: tuple[tuple[str, type], ...] = (
    ("people", PersonViewSet),
    ("working-times", WorkingTimeViewSet),
    ("working-time-exceptions", WorkingTimeExceptionViewSet),
    ("calendar-feeds", CalendarFeedViewSet),
    ("properties", PropertyViewSet),
    ("plans", PlanViewSet),
    ("week", WeekViewSet),
    ("board-holds", BoardHoldViewSet),
    ("alerts", AlertViewSet),
    ("nights", NightViewSet),
    ("pace", PaceViewSet),
    ("board-moves", BoardMoveViewSet),
    ("tasks", TaskViewSet),
)
