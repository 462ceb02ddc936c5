"""What stands against tasks and what is missing before sign-off, for those who plan and report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from apps.inspections.models import SIGNED_OFF, Condition, Evidence, Inspection
from apps.property.models import Property
from apps.work.models import Task


@dataclass(frozen=True, slots=True)
class Missing:
    """A piece of required evidence that is not on file."""

    inspection: Inspection
    key: str
    title: str

    @property
    def sentence(self) -> str:
        return f"“{self.title}” is not on file for “{self.inspection}”."


@dataclass(frozen=True, slots=True)
class Block:
    """One thing that stands against one task; `id` is the inspection's or the condition's."""

    task_id: int
    kind: str
    id: int
    sentence: str


def waiting(house: Property) -> QuerySet[Inspection]:
    """The inspections of a house that are not signed off."""
    return house.inspections.exclude(state__in=SIGNED_OFF)


def open_conditions(house: Property) -> QuerySet[Condition]:
    """Conditions that are not cleared, of sign-offs that no correction has replaced."""
    return Condition.objects.filter(
        sign_off__property=house, sign_off__superseded_by=None, cleared_at=None
    ).select_related("sign_off__inspection")


def missing_of(inspections: Sequence[Inspection]) -> list[Missing]:
    """Required evidence that is not on file. One query, and only when any is required."""
    requiring = [row for row in inspections if row.required_evidence]
    if not requiring:
        return []
    there = set(
        Evidence.objects.filter(inspection__in=requiring)
        .exclude(requirement="")
        .values_list("inspection_id", "requirement")
    )
    return [
        Missing(row, item["key"], item["title"])
        for row in requiring
        for item in row.required_evidence
        if (row.pk, item["key"]) not in there
    ]


def missing_evidence(house: Property) -> list[Missing]:
    """Required evidence of a house's inspections that is not on file. Two queries."""
    return missing_of(list(house.inspections.order_by("pk")))


def open_blocks(house: Property) -> list[Block]:
    """What stands against which task by name: looks, conditions, missing evidence.

    Six queries at most, however many there are. A fixing task that would cover an inspection's
    area is blocked as well; which boards that is, is known above.
    """
    rows = list(house.inspections.prefetch_related("blocks").order_by("pk"))
    found = [
        Block(task.pk, "inspection", row.pk, waits_for_look(task, row))
        for row in rows
        if row.state not in SIGNED_OFF
        for task in row.blocks.all()
    ]
    found += [
        Block(task.pk, "condition", condition.pk, waits_for_condition(task, condition))
        for condition in open_conditions(house).prefetch_related("blocks")
        for task in condition.blocks.all()
    ]
    found += [
        Block(task.pk, "evidence", missing.inspection.pk, waits_for_evidence(task, missing))
        for missing in missing_of(rows)
        for task in missing.inspection.blocks.all()
    ]
    return found


def waits_for_look(task: Task, row: Inspection) -> str:
    return f"{task} waits until “{row}” is signed off; it is {row.state.replace('_', ' ')}."


def waits_for_condition(task: Task, condition: Condition) -> str:
    of = condition.sign_off.inspection
    return f"{task} waits until the condition “{condition}” of “{of}” is cleared."


def waits_for_evidence(task: Task, missing: Missing) -> str:
    return f"{task} waits for “{missing.title}”, which “{missing.inspection}” needs on file."
