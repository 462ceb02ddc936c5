"""Taking off the record what nothing else hangs on, and bringing it back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from secrets import token_hex
from typing import Any

from django.core import serializers
from django.db.models import Model
from django.db.models.deletion import Collector
from django.http import Http404, HttpRequest
from django.urls import reverse

from apps.floors.models import Floor
from apps.floors.services import refuse_history
from apps.pages.actions import Done, house_action, is_ours, refuse_stale
from apps.pages.base import Undo
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import Kind
from apps.pages.visiting import Visiting, id_of
from apps.work.models import Task, WorkPackage
from renovation.errors import Problem
from renovation.models import Record

TAKEN_OFF = "taken_off"
MOST_KEPT = 4


@house_action
def remove(request: HttpRequest, found: Visiting) -> Done:
    """Take rows of one kind off the record."""
    name = request.POST.get("kind", "")
    if name not in KINDS or name == "house":
        raise Http404
    kind = KINDS[name]
    ids = {id_of(written) or 0 for written in request.POST.getlist("ids")}
    rows = list(kind.rows(found.house).filter(pk__in=ids))
    if not rows or len(rows) != len(ids):
        raise Http404
    for row in rows if len(rows) == 1 else ():
        refuse_stale(request, row)
    gone: list[Model] = []
    for row in rows:
        gone += what_goes(row, kind)
    named = ", ".join(str(row) for row in rows)
    token = keep(request, gone)
    for row in rows:
        row.delete()
    back = back_of(request, kind)
    if request.POST.get("added"):
        return Done(f"Undone: {named} is off the record again.", back=back)
    fields: dict[str, Any] = {"token": token, "kind": name, "property": found.house.pk}
    undo = Undo(reverse("house-bring-back"), fields)
    return Done(f"Taken off the record: {named}.", back=back, undo=undo)


def back_of(request: HttpRequest, kind: Kind) -> str:
    back = request.POST.get("back", "")
    return back if kind.stays and is_ours(back) else reverse(kind.page)


@house_action
def bring_back(request: HttpRequest, found: Visiting) -> Done:
    """Undo: what was taken off is there again, as it was, while its place is still free."""
    name = request.POST.get("kind", "")
    kept = request.session.get(TAKEN_OFF, {})
    written = kept.get(request.POST.get("token", ""))
    if written is None or name not in KINDS:
        raise Problem("wrong-step", "That was brought back already, or is too long ago.")
    rows = list(serializers.deserialize("json", written))
    for row in rows:
        if isinstance(row.object, Record) and row.object.house_id() != found.house.pk:
            raise Http404
        row.object.validate_constraints()
        row.save()
    request.session[TAKEN_OFF] = {
        token: text for token, text in kept.items() if token != request.POST["token"]
    }
    return Done(f"Back on the record: {rows[0].object}.", back=reverse(KINDS[name].page))


def keep(request: HttpRequest, rows: Iterable[Model]) -> str:
    """Keep what goes with the session, for its Undo: too much for a hidden field, and never a
    stranger's to write."""
    token = token_hex(8)
    kept = {**request.session.get(TAKEN_OFF, {}), token: serializers.serialize("json", rows)}
    request.session[TAKEN_OFF] = dict(list(kept.items())[-MOST_KEPT:])
    return token


def what_goes(row: Any, kind: Kind) -> list[Model]:
    """A row with all that goes along with it, in the order in which it can come back.

    Raises:
        Problem: `in-use`, 409, for what others built on; or what a floor's own history refuses.
    """
    refuse_hanging(row, [f"{task} was begun" for task in begun(row)])
    boards: list[Model] = []
    if isinstance(row, Floor):
        refuse_history(row)
        boards = list(row.boards.all())
        row.boards.all().delete()  # They protect their floor; a refusal below brings them back.
    collector = Collector(using="default")
    collector.collect([row])  # ProtectedError has its own sentence.
    going = [other for others in collector.data.values() for other in others if other != row]
    for rest in collector.fast_deletes:
        going += list(rest)
    refuse_hanging(row, [str(other) for other in going if type(other) not in kind.along])
    # Rows that only join two others come back with the row that names them; tasks before links.
    named = [other for other in going if not other._meta.auto_created]
    return [row, *boards, *sorted(named, key=lambda other: kind.along.index(type(other)))]


def begun(row: Any) -> list[Task]:
    """Tasks that were begun stay: time was spent on them."""
    tasks = [row] if isinstance(row, Task) else []
    if isinstance(row, WorkPackage):
        tasks = list(row.tasks.all())
    return [task for task in tasks if task.status not in {"to_do", "dropped"}]


def refuse_hanging(row: Any, hanging: Sequence[str]) -> None:
    if hanging:
        more = f" and {len(hanging) - 3} more" if len(hanging) > 3 else ""
        raise Problem(
            "in-use", f"{row} stays, because of: {', '.join(hanging[:3])}{more}.", status_code=409
        )
