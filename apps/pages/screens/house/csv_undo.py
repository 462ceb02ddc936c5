"""Undoing a sheet: what it added goes while nobody touched it, what it changed is as it was."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.screens.house.csv_kinds import SHEETS
from apps.pages.screens.house.kinds import OF_TASK
from apps.pages.screens.house.removing import what_goes
from apps.pages.screens.house.writing import Kind
from apps.pages.visiting import Visiting, id_of
from apps.timber.api.piece_rows import PieceSerializer
from apps.timber.models import Defect, Piece
from apps.work.api.packages import WorkPackageSerializer
from apps.work.api.tasks import TaskSerializer
from apps.work.models import Task, WorkPackage
from apps.work.sheet_problems import refusal
from renovation.errors import Problem

MADE = {
    "tasks": Kind(Task, TaskSerializer, "house-csv", along=OF_TASK),
    "timber": Kind(Piece, PieceSerializer, "house-csv", along=(Defect,)),
}
PACKAGES = Kind(WorkPackage, WorkPackageSerializer, "house-csv")


@house_action
def undo(request: HttpRequest, found: Visiting) -> Done:
    """Take back a sheet."""
    kind = request.POST.get("kind", "")
    if kind not in SHEETS:
        raise Http404
    made = as_seen(found, MADE[kind], request.POST.get("made", ""))
    as_seen(found, MADE[kind], request.POST.get("seen", ""))
    packages = as_seen(found, PACKAGES, request.POST.get("packages", ""))
    before = request.POST.get("before", "")
    if before:
        came = SHEETS[kind].take(found, before.encode(), False)
        if came.errors:
            raise refusal(came.errors)
    for row in made:
        what_goes(row, MADE[kind])  # Refuses what others built on.
    for row in made:
        row.delete()
    for row in packages:
        what_goes(row, PACKAGES)
        row.delete()
    return Done("Undone: all is as it was before the sheet.", back=reverse("house-csv"))


def as_seen(found: Visiting, kind: Kind, written: str) -> list[Any]:
    """The rows of `12:1,13:1`, each still of that version.

    Raises:
        Problem: `stale`, 412, when one changed or went since.
    """
    wanted: dict[int, str] = {}
    for part in written.split(",") if written else ():
        key, _, version = part.partition(":")
        wanted[id_of(key) or 0] = version
    rows = list(kind.rows(found.house).filter(pk__in=wanted))
    for row in rows:
        if wanted[row.pk] != str(row.version):
            raise Problem("stale", f"{row} changed since; nothing was undone.", status_code=412)
    if len(rows) != len(wanted):
        raise Problem("stale", "Some of it is gone since; nothing was undone.", status_code=412)
    return rows
