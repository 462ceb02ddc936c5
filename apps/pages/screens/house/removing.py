"""Taking back what was added, while nothing else hangs on it."""

from __future__ import annotations

from django.db.models import Model
from django.db.models.deletion import Collector
from django.http import Http404, HttpRequest
from django.urls import reverse

from apps.floors.models import Board, Floor, Joist
from apps.floors.services import refuse_history
from apps.pages.actions import Done, house_action
from apps.pages.visiting import Visiting, id_of
from apps.planning.models import WorkingTime
from apps.property.models import Doorway, HouseholdRoute, Room
from apps.trades.models import Visit
from apps.work.models import Link, Task, Trade, WorkPackage
from renovation.errors import Problem
from renovation.models import Record

KINDS: dict[str, tuple[type[Record], str, str, tuple[type[Model], ...]]] = {
    "room": (Room, "property", "rooms", ()),
    "doorway": (Doorway, "property", "doorways", ()),
    "route": (HouseholdRoute, "property", "routes", ()),
    "floor": (Floor, "property", "floors", (Board, Joist)),
    "trade": (Trade, "property", "trades", ()),
    "hours": (WorkingTime, "person__property", "hours", ()),
    "visit": (Visit, "property", "visits", (Visit.tasks.through, Visit.certificates.through)),
    "task": (Task, "package__property", "tasks", (Link,)),
    "package": (WorkPackage, "property", "tasks", (Task, Link)),
}
"""Model, the way to its house, the page it is on, and what goes with it."""


@house_action
def remove(request: HttpRequest, found: Visiting) -> Done:
    """Take rows of one kind off the record."""
    kind = request.POST.get("kind", "")
    if kind not in KINDS:
        raise Http404
    model, to_house, name, going_along = KINDS[kind]
    ids = [id_of(written) or 0 for written in request.POST.getlist("ids")]
    rows = list(model._default_manager.filter(**{to_house: found.house, "pk__in": ids}))
    if not rows or len(rows) != len(set(ids)):
        raise Http404
    for row in rows:
        refuse_what_hangs(row, going_along)
    named = ", ".join(str(row) for row in rows)
    for row in rows:
        row.delete()
    return Done(f"Taken off the record: {named}.", back=reverse(f"house-{name}"))


def refuse_what_hangs(row: Record, going_along: tuple[type[Model], ...]) -> None:
    """Refuse to forget what others built on.

    Raises:
        Problem: `in-use`, 409; or what a floor's own history refuses.
    """
    if isinstance(row, Floor):
        refuse_history(row)
        row.boards.all().delete()  # They protect their floor; a refusal below brings them back.
    tasks = {Task: [row], WorkPackage: Task.objects.filter(package_id=row.pk)}.get(type(row), ())
    begun = [str(task) for task in tasks if isinstance(task, Task) and task.status != "to_do"]
    collector = Collector(using="default")
    collector.collect([row])  # ProtectedError has its own sentence.
    hanging = [str(other) for model, others in collector.data.items() for other in others
               if model not in (type(row), *going_along)]  # fmt: skip
    hanging += [
        str(others.model._meta.verbose_name)
        for others in collector.fast_deletes
        if others.model not in (type(row), *going_along) and others.exists()
    ]
    if named := begun + hanging:
        raise Problem(
            "in-use", f"{row} stays: {', '.join(named[:3])} hangs on it.", status_code=409
        )  # fmt: skip
