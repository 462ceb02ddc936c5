"""Tasks that have to wait: for a look, a condition, required evidence; or an owner's override."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from apps.inspections.models import SIGNED_OFF, Condition, Inspection, SignOff
from apps.inspections.selectors import (
    Missing,
    missing_of,
    waits_for_condition,
    waits_for_evidence,
    waits_for_look,
)
from apps.inspections.services.sign_offs import append
from apps.property.models import Member
from apps.work import services as work_services
from apps.work.models import Task
from apps.work.steps import lock
from renovation.errors import Problem


@dataclass(frozen=True, slots=True)
class Override:
    """An owner's decision not to wait, with the reason in writing."""

    by: Any
    reason: str


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands against one task."""

    task: Task
    looks: Sequence[Inspection]
    conditions: Sequence[Condition]
    missing: Sequence[Missing]

    @property
    def sentences(self) -> list[str]:
        return [
            *(waits_for_look(self.task, row) for row in self.looks),
            *(waits_for_condition(self.task, row) for row in self.conditions),
            *(waits_for_evidence(self.task, row) for row in self.missing),
        ]

    @property
    def inspections(self) -> list[Inspection]:
        """Every inspection that something here belongs to, each once."""
        named = [
            *self.looks,
            *(row.sign_off.inspection for row in self.conditions),
            *(row.inspection for row in self.missing),
        ]
        return list({row.pk: row for row in named}.values())


@transaction.atomic
def start_task(
    *,
    task: Task,
    at: datetime,
    covers: Sequence[Inspection] = (),
    override: Override | None = None,
) -> Task:
    """Begin a task that nothing stands against, or that an owner will not have wait.

    Args:
        covers: inspections that the task would cover, beside those that block it by name.

    Raises:
        Problem: `hold-point-open`; `owners-only`; and as `work.services.start_task`.
    """
    lock(task)
    started = work_services.start_task(task=task, at=at)
    pass_hold_points(task=task, covers=covers, override=override, at=at)
    return started


@transaction.atomic
def finish_task(
    *,
    task: Task,
    at: datetime,
    minutes: int | None = None,
    noted_by: Any = None,
    covers: Sequence[Inspection] = (),
    override: Override | None = None,
) -> Task:
    """End a task that nothing stands against: work that was started too early is not to be
    covered up either. An override is for one step: the end needs its own.

    Raises:
        Problem: `hold-point-open`; `owners-only`; and as `work.services.finish_task`.
    """
    lock(task)
    done = work_services.finish_task(task=task, at=at, minutes=minutes, noted_by=noted_by)
    pass_hold_points(task=task, covers=covers, override=override, at=at)
    return done


def pass_hold_points(
    *, task: Task, covers: Sequence[Inspection], override: Override | None, at: datetime
) -> None:
    """Refuse a task that has to wait, or record that an owner will not have it wait.

    Raises:
        Problem: `hold-point-open` with `inspections`, `conditions` and `evidence` that stand
            against it; `owners-only`, 403, when someone else overrides.
    """
    standing = standing_against(task, covers)
    sentences = standing.sentences
    if not sentences:
        return
    if override is None:
        raise hold_point_open(standing)
    refuse_others_than_owners(task, override.by)
    for inspection in standing.inspections:
        append(
            inspection=inspection,
            result=SignOff.Result.OVERRIDDEN,
            seen_by=override.by.get_full_name() or override.by.get_username(),
            seen_at=at,
            recorded_by=override.by,
            reason=override.reason,
            task=task,
            stood_against=sentences,
        )


def standing_against(task: Task, covers: Sequence[Inspection] = ()) -> Standing:
    """What stands against a task now. Three queries at most."""
    rows = {row.pk: row for row in [*task.blocked_by.order_by("pk"), *covers]}
    looks = [row for row in rows.values() if row.state not in SIGNED_OFF]
    conditions = task.conditions.filter(cleared_at=None, sign_off__superseded_by=None)
    return Standing(
        task,
        looks,
        list(conditions.select_related("sign_off__inspection").order_by("pk")),
        missing_of(list(rows.values())),
    )


def hold_point_open(standing: Standing) -> Problem:
    first, *more = standing.sentences
    return Problem(
        "hold-point-open",
        f"{first} (and {len(more)} more)" if more else first,
        inspections=[
            {"id": row.pk, "title": row.title, "state": row.state} for row in standing.looks
        ],
        conditions=[{"id": row.pk, "text": row.text} for row in standing.conditions],
        evidence=[
            {"inspection": row.inspection.pk, "key": row.key, "title": row.title}
            for row in standing.missing
        ],
    )


def refuse_others_than_owners(task: Task, by: Any) -> None:
    house = task.house_id()
    if not Member.objects.filter(property=house, user=by, role=Member.Role.OWNER).exists():
        raise Problem(
            "owners-only", f"Only an owner decides that {task} does not wait.", status_code=403
        )
