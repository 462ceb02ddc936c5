"""Changes of what the job wants of timber."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db import transaction

from apps.floors import shapes
from apps.floors.models import Floor, Joist
from apps.property.models import Property
from apps.timber import noggins
from apps.timber.models import Need
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

NEED_STEPS: Steps = {
    "open": {"met": "met", "drop": "dropped"},
    "planned": {},
    "met": {"reopen": "open"},
    "dropped": {"reopen": "open"},
}
WANTED = (
    "role", "quantity", "length_mm", "breadth_mm", "depth_mm", "strength_class",
    "moisture_limit_pct", "treated",
)  # fmt: skip


@transaction.atomic
def change_need(*, need: Need, **values: Any) -> Need:
    """Change a need.

    Raises:
        Problem: `need-committed` when a cutting plan was applied for it, or it is met, and what
            is wanted would change.
    """
    lock(need)
    changed = any(name in values and values[name] != getattr(need, name) for name in WANTED)
    if changed and need.state in {Need.State.PLANNED, Need.State.MET}:
        raise committed(need, "what is wanted stays as it is")
    if "task" in values and values["task"] != need.task:
        # The day was the other task's; the next plan says this one's.
        values["planned_on"] = None
    need.change(**values)
    return need


def committed(need: Need, what: str) -> Problem:
    return Problem("need-committed", f"“{need}” is {need.state}: {what}.", state=need.state)


@transaction.atomic
def remove_need(*, need: Need) -> None:
    """Take a need off the record, as if it had never been noted.

    Raises:
        Problem: `need-committed` when a cutting plan was applied for it, or it is met.
    """
    lock(need)
    if need.state in {Need.State.PLANNED, Need.State.MET}:
        raise committed(need, "it stays on the record")
    need.delete()


@transaction.atomic
def drop_need(*, need: Need, reason: str) -> Need:
    """Record that the timber is not wanted any more, and why.

    Raises:
        Problem: `wrong-step` unless it is open.
    """
    return step_need(need, "drop", state_reason=reason)


@transaction.atomic
def meet_need(*, need: Need, reason: str) -> Need:
    """Record that the timber came from elsewhere than a cutting plan, and from where.

    Raises:
        Problem: `wrong-step` unless it is open.
    """
    return step_need(need, "met", state_reason=reason)


@transaction.atomic
def reopen_need(*, need: Need) -> Need:
    """Undo dropping or meeting by hand.

    Raises:
        Problem: `wrong-step` when it is open or planned; `need-committed` when it was met by
            the cuts of a plan.
    """
    lock(need)
    if need.state == Need.State.MET and not need.state_reason:
        raise committed(need, "it was cut to a plan; take the cut back instead")
    return step_need(need, "reopen", state_reason="")


def step_need(need: Need, step: str, **values: Any) -> Need:
    lock(need)
    state = next_state(NEED_STEPS, need.state, step, name=str(need))
    need.change(state=state, **values)
    return need


@transaction.atomic
def note_planned_starts(*, house: Property, starts: Mapping[int, date]) -> int:
    """Note on each need when the plan begins its task; for planning, after a plan is made.

    Args:
        starts: by task id, the day of its first stint. A need of a task that is not there has
            no planned day any more.

    Returns:
        How many needs changed.
    """
    changed = 0
    for need in Need.objects.select_for_update(no_key=True).filter(property=house):
        day = starts.get(need.task_id) if need.task_id is not None else None
        if need.planned_on != day:
            need.change(planned_on=day)
            changed += 1
    return changed


def noggin_needs(
    *, floor: Floor, role: str, at_mm: Iterable[int] | None, rows: int, allowance_mm: int,
    **values: Any,
) -> tuple[list[Need], tuple[str, ...]]:  # fmt: skip
    """The needs of rows between a floor's joists, unsaved, and what was left out in sentences.

    Args:
        role: a `Role` that fits between joists.
        at_mm: where the rows are, along the joists from their lower end [mm]; None: `rows` of
            them, evenly spread.
        allowance_mm: how much shorter than the clear gap they are cut [mm].
        values: further columns of each need.

    Raises:
        Problem: `no-joists` when the floor has no two joists beside each other; `invalid` at
            `/at_mm` for a row beyond the joists.
        ValidationError: for a section or length that no need has.
    """
    joists = tuple(joist_between(joist) for joist in floor.joists.order_by("pk"))
    try:
        found = noggins.between(joists, at_mm=at_mm, rows=rows, allowance_mm=allowance_mm)
    except noggins.NoJoists as exc:
        raise Problem("no-joists", f"{floor}: {exc}") from exc
    except ValueError as exc:
        raise field_problem("/at_mm", str(exc)) from exc
    needs = [
        Need(
            property_id=floor.property_id, floor=floor, role=role, length_mm=group.length_mm,
            quantity=group.quantity, length_rule=group.rule,
            title=f"{floor.name}: {role}s of {group.length_mm} mm"[:120], **values,
        )
        for group in found.groups
    ]  # fmt: skip
    for need in needs:
        need.validate_constraints()
    return needs, found.left_out


def joist_between(joist: Joist) -> noggins.Joist:
    start, end = shapes.points(joist.line)
    return noggins.Joist(
        mark=joist.mark,
        line=(start, end),
        breadth_mm=joist.breadth_mm,
        missing=joist.condition == Joist.Condition.MISSING,
    )


@transaction.atomic
def add_noggin_needs(**wanted: Any) -> tuple[list[Need], tuple[str, ...]]:
    """Add the needs of `noggin_needs`.

    Raises:
        Problem: as `noggin_needs`.
    """
    needs, left_out = noggin_needs(**wanted)
    for need in needs:
        need.save()
    return needs, left_out
