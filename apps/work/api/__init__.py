"""The work over HTTP. `tasks/` is served from the app above that knows what hangs on a task's
start and end."""

from __future__ import annotations

from apps.work.api.links import LinkViewSet
from apps.work.api.packages import WorkPackageViewSet
from apps.work.api.records import FindingViewSet, SupplyViewSet, TimeEntryViewSet
from apps.work.api.tasks import ToolViewSet

ROUTES: tuple[tuple[str, type], ...] = (
    ("work-packages", WorkPackageViewSet),
    ("links", LinkViewSet),
    ("time-entries", TimeEntryViewSet),
    ("supplies", SupplyViewSet),
    ("findings", FindingViewSet),
    ("tools", ToolViewSet),
)
