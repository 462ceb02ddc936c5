"""Changes of visits, access needs and temporary measures; and of tasks and inspections where
boards are held until they are done or signed off."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from apps.inspections import services as inspection_services
from apps.inspections.models import SIGNED_OFF, Inspection, SignOff
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.trades.releases import Until, hold_again_what_was_released, release_held
from apps.work import services as work_services
from apps.work.models import Task, Trade
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

VISIT_STEPS: Steps = {
    "wanted": {"ask": "asked", "agree": "agreed"},
    "asked": {"agree": "agreed", "withdraw": "wanted"},
    "agreed": {"agree": "agreed", "done": "done", "missed": "missed", "withdraw": "wanted"},
    "done": {"reopen": "agreed", "missed": "missed", "withdraw": "wanted"},
    "missed": {
        "ask": "asked", "agree": "agreed", "done": "done", "reopen": "agreed",
        "withdraw": "wanted",
    },
}  # fmt: skip
NEED_STEPS: Steps = {"held": {"release": "released"}, "released": {"hold-again": "held"}}
MEASURE_STEPS: Steps = {
    "in_place": {"check": "in_place", "clear": "cleared"},
    "cleared": {"unclear": "in_place"},
}


@transaction.atomic
def ask_for_visit(*, visit: Visit) -> Visit:
    """Record that the trade was asked. A missed visit's old times no longer stand.

    Raises:
        Problem: `wrong-step` unless it is wanted or was missed.
    """
    return step_visit(visit, "ask", starts=None, ends=None)


@transaction.atomic
def agree_visit(*, visit: Visit, starts: datetime, ends: datetime) -> Visit:
    """Record the agreed time, or another one.

    Raises:
        Problem: `wrong-step` once it is done; `visit-overlaps` when the same trade is agreed
            to be here then for another visit.
    """
    step_visit(visit, "agree", starts=starts, ends=ends)
    refuse_overlap(visit)
    return visit


@transaction.atomic
def finish_visit(*, visit: Visit, at: datetime) -> Visit:
    """Record that the trade has been, and release the boards held until then.

    Raises:
        Problem: `wrong-step` unless it was agreed (or marked missed by mistake).
    """
    step_visit(visit, "done")
    release_held(Until.VISIT_DONE, visit, at=at)
    return visit


@transaction.atomic
def miss_visit(*, visit: Visit) -> Visit:
    """Record that the trade did not come. What the visit had released is held again.

    Raises:
        Problem: `wrong-step` unless it was agreed or marked done by mistake.
    """
    step_visit(visit, "missed")
    hold_again_what_was_released(Until.VISIT_DONE, visit)
    return visit


@transaction.atomic
def withdraw_visit(*, visit: Visit) -> Visit:
    """Back to wanted, without times. What the visit had released is held again.

    Raises:
        Problem: `wrong-step` when it is wanted already.
    """
    step_visit(visit, "withdraw", starts=None, ends=None)
    hold_again_what_was_released(Until.VISIT_DONE, visit)
    return visit


@transaction.atomic
def reopen_visit(*, visit: Visit) -> Visit:
    """Undo done or missed: agreed as before. What the visit had released is held again.

    Raises:
        Problem: `wrong-step` unless it is done or missed; `visit-overlaps` when the trade has
            agreed to another visit at that time since.
    """
    step_visit(visit, "reopen")
    refuse_overlap(visit)
    hold_again_what_was_released(Until.VISIT_DONE, visit)
    return visit


def step_visit(visit: Visit, name: str, **values: Any) -> Visit:
    lock(visit)
    state = next_state(VISIT_STEPS, visit.state, name, name=str(visit))
    visit.change(state=state, **values)
    return visit


def refuse_overlap(visit: Visit) -> None:
    # Two phones may agree two visits at once: the trade's row makes one wait for the other.
    Trade.objects.select_for_update().get(pk=visit.trade_id)
    others = Visit.objects.filter(
        trade=visit.trade_id,
        state=Visit.State.AGREED,
        starts__lt=visit.ends,
        ends__gt=visit.starts,
    )
    if other := others.exclude(pk=visit.pk).first():
        raise Problem(
            "visit-overlaps",
            f"{visit.trade} is agreed to be here then for another visit: {other}, "
            f"{other.starts:%Y-%m-%d %H:%M} to {other.ends:%H:%M} UTC.",
            visit={"id": other.pk, "title": str(other)},
        )


def refuse_another_trade(*, visit: Visit, trade: Trade) -> None:
    """Refuse to hand a visit to another trade once its own was asked.

    Raises:
        Problem: `invalid` at `/trade`.
    """
    if trade.pk != visit.trade_id and visit.state != Visit.State.WANTED:
        raise field_problem("/trade", f"{visit} is {visit.state}; withdraw it first.")


def refuse_tasks_of_others(*, trade: Trade, tasks: Sequence[Task]) -> None:
    """Refuse tasks in a visit of a trade that does not do them.

    Raises:
        Problem: `invalid` at `/tasks`.
    """
    if strange := next((task for task in tasks if task.trade_id != trade.pk), None):
        whose = strange.trade or "the crew"
        raise field_problem("/tasks", f"{strange} is a task of {whose}, not of {trade}.")


def refuse_leaving_visits(*, task: Task, trade: Trade | None) -> None:
    """Refuse to give a task to another trade while a visit of the first one has it.

    Raises:
        Problem: `invalid` at `/trade`.
    """
    if visit := task.visits.exclude(trade=trade).first():
        raise field_problem("/trade", f"It is in {visit}; take it out of that visit first.")


@transaction.atomic
def release_need(*, need: AccessNeed, note: str, at: datetime) -> AccessNeed:
    """Release a need by hand, with the reason.

    Raises:
        Problem: `wrong-step` when it is released already.
    """
    lock(need)
    next_state(NEED_STEPS, held_or_released(need), "release", name=str(need))
    need.change(released_at=at, release_note=note)
    return need


@transaction.atomic
def hold_need_again(*, need: AccessNeed) -> AccessNeed:
    """Undo a release.

    Raises:
        Problem: `wrong-step` when it is held.
    """
    lock(need)
    next_state(NEED_STEPS, held_or_released(need), "hold-again", name=str(need))
    need.change(released_at=None, release_note="")
    return need


def held_or_released(need: AccessNeed) -> str:
    return "held" if need.released_at is None else "released"


@transaction.atomic
def finish_task(*, task: Task, at: datetime, **said: Any) -> Task:
    """End a task, and release the boards held until then.

    Args:
        said: as `inspections.services.finish_task`.

    Raises:
        Problem: as `inspections.services.finish_task`.
    """
    inspection_services.finish_task(task=task, at=at, **said)
    release_held(Until.TASK_DONE, task, at=at)
    return task


@transaction.atomic
def reopen_task(*, task: Task) -> Task:
    """Undo a task's last step. What its end had released is held again.

    Raises:
        Problem: as `work.services.reopen_task`.
    """
    work_services.reopen_task(task=task)
    hold_again_what_was_released(Until.TASK_DONE, task)
    return task


@transaction.atomic
def sign_off(*, inspection: Inspection, seen_at: datetime, **said: Any) -> SignOff:
    """Record a sign-off: acceptance releases the boards held for it, a rejection after an
    acceptance holds them again.

    Args:
        said: as `inspections.services.sign_off`.
    """
    recorded = inspection_services.sign_off(inspection=inspection, seen_at=seen_at, **said)
    if inspection.state in SIGNED_OFF:
        release_held(Until.SIGNED_OFF, inspection, at=seen_at)
    else:
        hold_again_what_was_released(Until.SIGNED_OFF, inspection)
    return recorded


@transaction.atomic
def check_measure(*, measure: TemporaryMeasure, at: datetime) -> TemporaryMeasure:
    """Record that someone looked at it. Checking again with another time puts a slip right.

    Raises:
        Problem: `wrong-step` once it is cleared; `invalid` before it was set up.
    """
    return step_measure(measure, "check", at, last_checked_at=at)


@transaction.atomic
def uncheck_measure(*, measure: TemporaryMeasure, seen_before: datetime | None) -> TemporaryMeasure:
    """Undo a check that was noted by mistake: it was last seen when it was seen before.

    Raises:
        Problem: `wrong-step` once it is cleared; `invalid` for a time later than the check.
    """
    seen = measure.last_checked_at
    if seen_before is not None and (seen is None or seen_before > seen):
        raise field_problem("/seen_before", f"{measure} was not seen later than that.")
    return step_measure(measure, "check", seen_before, last_checked_at=seen_before)


@transaction.atomic
def clear_measure(*, measure: TemporaryMeasure, at: datetime) -> TemporaryMeasure:
    """Record that it is out, or back on.

    Raises:
        Problem: `wrong-step` once it is cleared; `invalid` before it was set up.
    """
    return step_measure(measure, "clear", at, cleared_at=at)


@transaction.atomic
def unclear_measure(*, measure: TemporaryMeasure) -> TemporaryMeasure:
    """Undo a clearing: it is still in place.

    Raises:
        Problem: `wrong-step` unless it was cleared.
    """
    return step_measure(measure, "unclear", None, cleared_at=None)


def step_measure(
    measure: TemporaryMeasure, name: str, at: datetime | None, **values: Any
) -> TemporaryMeasure:
    lock(measure)
    state = "in_place" if measure.cleared_at is None else "cleared"
    next_state(MEASURE_STEPS, state, name, name=str(measure))
    if at is not None and at < measure.since:
        raise field_problem(
            "/at", f"{measure} was set up at {measure.since:%Y-%m-%d %H:%M} UTC, later than that."
        )
    measure.change(**values)
    return measure
