"""Taking a repair back: what nobody began goes, what somebody did stays and is named."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError

from apps.inspections.models import Deviation, Inspection
from apps.repairs.models import Repair
from apps.timber.services import needs as need_services
from apps.work.models import Task
from apps.work.steps import lock
from renovation.errors import Problem
from renovation.models import Record


@transaction.atomic
def undo(*, repair: Repair, at: datetime) -> Repair:
    """Remove what accepting the repair made and nobody has begun or built on.

    `repair.kept` names what stays, each with why. A finding that it decided is open again,
    unless work was begun.

    Raises:
        Problem: `wrong-step` when it was undone already.
    """
    lock(repair)
    if repair.undone_at is not None:
        raise Problem("wrong-step", f"“{repair}” is undone already.", state="undone", allowed=[])
    # Timber and props hold on to tasks, so they let go first.
    kept = [*keep_timber(repair), *keep_props(repair), *keep_tasks(repair)]
    built = (
        repair.inspection is not None
        and repair.inspection.looks_at.filter(pk__in=repair.tasks.all())
        .exclude(status=Task.Status.TO_DO)
        .exists()
    )
    kept += [*keep_look(repair, built), *keep_deviation(repair, built)]
    if repair.package is not None and repair.package_is_own and not repair.package.tasks.exists():
        remove(repair.package)
    begun = any(item["kind"] in {"task", "timber_need"} for item in kept)
    finding = repair.finding
    if finding is not None and not begun and repair.decision == finding.decision != "":
        lock(finding)
        finding.change(decision="", decided_at=None)
    repair.refresh_from_db()
    repair.change(undone_at=at, kept=kept)
    return repair


def keep_timber(repair: Repair) -> list[dict[str, Any]]:
    """Needs that a cutting plan took up or that are met stay, for no task in particular."""
    kept = []
    for need in repair.needs.all():
        try:
            with transaction.atomic():
                need_services.remove_need(need=need)
        except (Problem, ProtectedError):
            need_services.change_need(need=need, task=None)
            kept.append(named("timber_need", need, f"it is {need.state}"))
    return kept


def keep_props(repair: Repair) -> list[dict[str, Any]]:
    """Props stand until somebody takes them out, whatever was undone."""
    measure = repair.measure
    if measure is None:
        return []
    measure.change(clear_before_task=None)
    if measure.cleared_at is not None:
        return []
    return [named("temporary_measure", measure, "the props stand until somebody clears them")]


def keep_look(repair: Repair, built: bool) -> list[dict[str, Any]]:
    """An inspection of its own goes unless somebody was asked, came, or proved something, or
    the new timber is being fitted: then it has to be seen all the same."""
    look = repair.inspection
    if look is None or not repair.inspection_is_own:
        return []
    if built:
        return [named("inspection", look, "what it sees was begun")]
    if look.state != Inspection.State.DUE:
        return [named("inspection", look, f"it is {look.state.replace('_', ' ')}")]
    why = remove(look)
    return [named("inspection", look, why)] if why else []


def keep_deviation(repair: Repair, built: bool) -> list[dict[str, Any]]:
    row = repair.deviation
    if row is None:
        return []
    if built:
        return [named("deviation", row, "what it tells of was begun")]
    if row.state != Deviation.State.DRAFTED:
        return [named("deviation", row, f"it is {row.state}")]
    why = remove(row)
    return [named("deviation", row, why)] if why else []


def keep_tasks(repair: Repair) -> list[dict[str, Any]]:
    """Tasks that were begun, or that something hangs on by now."""
    kept = []
    for task in repair.tasks.order_by("-pk"):
        why = f"it is {task.status}" if task.status != Task.Status.TO_DO else hung_on(task)
        why = why or remove(task)
        if why:
            kept.append(named("task", task, why))
    return kept[::-1]


def hung_on(task: Task) -> str:
    """What somebody added to a task and removing it would silently take along."""
    for rows, why in (
        (task.access_needs, "boards are wanted open for it"),
        (task.visits, "a visit is for it"),
        (task.conditions, "a condition holds it"),
        (task.supplies, "a delivery is for it"),
    ):
        if rows.exists():
            return why
    return ""


def remove(row: Record) -> str:
    """Remove a row, or say why it cannot go. It keeps its id, to be named by."""
    key = row.pk
    try:
        with transaction.atomic():
            row.delete()
    except ProtectedError as exc:
        row.pk = key
        others = sorted({str(other._meta.verbose_name) for other in exc.protected_objects})
        return f"a {others[0]} is noted on it"
    return ""


def named(kind: str, row: Record, why: str) -> dict[str, Any]:
    return {"kind": kind, "id": row.pk, "name": str(row), "why": why}
