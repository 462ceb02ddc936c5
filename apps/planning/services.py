"""Making plans: ask for one, solve it, pick up what was left behind.

A plan's row is its own outbox. `queued` rows wait for any worker; whoever claims one (a
conditional update, so only one does) solves it outside any transaction and stores the answer
in one. A failed solve stores why and leaves the last good plan current.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from datetime import datetime, timedelta
from time import perf_counter
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from apps.floors.models import Board
from apps.planning.models import Plan, Stint
from apps.planning.spans import task_days
from apps.property.models import Property
from apps.timber.services.needs import note_planned_starts
from renovation.errors import Problem

log = logging.getLogger(__name__)

LEFT_AFTER = timedelta(minutes=5)


@transaction.atomic
def request_plan(
    *,
    house: Property,
    as_of: datetime,
    horizon_days: int,
    seconds: float,
    quick: bool = False,
    requested_by: Any = None,
    what_if: dict[str, Any] | None = None,
) -> Plan:
    """Queue a plan, and hand it to the workers once it is stored."""
    from apps.planning.tasks import solve_plan  # noqa: PLC0415 (tasks import this module)

    plan = Plan.objects.create(
        property=house,
        as_of=as_of,
        horizon_days=horizon_days,
        seconds=seconds,
        quick=quick,
        requested_by=requested_by,
        what_if=what_if,
    )
    transaction.on_commit(lambda: solve_plan.delay(plan.pk))
    return plan


def solve(*, plan_id: int) -> None:
    """Solve one queued plan. Safe to run twice: the second run finds nothing to claim."""
    claimed = Plan.objects.filter(pk=plan_id, state=Plan.State.QUEUED).update(
        state=Plan.State.SOLVING, claimed_at=timezone.now()
    )
    if not claimed:
        return
    plan = Plan.objects.select_related("property").get(pk=plan_id)
    try:
        answer = work_out(plan)
    except Exception:
        # Whatever went wrong, the person gets a sentence and keeps the last good plan; the
        # log keeps the rest.
        log.exception("plan %s failed", plan_id)
        Plan.objects.filter(pk=plan_id).update(
            state=Plan.State.FAILED,
            failure="The planner stopped on an error; the last good plan still stands.",
            solved_at=timezone.now(),
        )
        return
    store(plan, answer)


def requeue_left_plans() -> None:
    """Hand out again what was queued or claimed and never finished."""
    from apps.planning.tasks import solve_plan  # noqa: PLC0415 (tasks import this module)

    limit = timezone.now() - LEFT_AFTER
    Plan.objects.filter(state=Plan.State.SOLVING, claimed_at__lt=limit).update(
        state=Plan.State.QUEUED
    )
    left = Plan.objects.filter(state=Plan.State.QUEUED).filter(
        Q(requested_at__lt=limit) | Q(claimed_at__lt=limit)
    )
    for plan_id in left.values_list("pk", flat=True):
        solve_plan.delay(plan_id)


def work_out(plan: Plan) -> dict[str, Any]:
    """Read the house, solve, explain, find the alerts: all the plan's answer, nothing stored."""
    # The solver and geometry libraries take half a second to load: only when a plan is made.
    from apps.planning import horizons  # noqa: PLC0415
    from apps.planning.answer import answer  # noqa: PLC0415
    from apps.planning.loading.chances import plan_odds  # noqa: PLC0415
    from apps.planning.loading.house import read_house  # noqa: PLC0415
    from apps.planning.loading.question import question  # noqa: PLC0415
    from apps.planning.quick import solve_quickly  # noqa: PLC0415
    from apps.planning.reasons import explain  # noqa: PLC0415
    from apps.planning.supposing import suppose  # noqa: PLC0415

    began = perf_counter()
    first_seconds: list[float] = []
    house = read_house(plan.property, as_of=plan.as_of, horizon_days=plan.horizon_days)
    suppose(house, plan.what_if or {})
    previous = current_plan(plan.property)
    asked = question(house, previous=previous)
    if plan.quick:
        solution = solve_quickly(asked.problem)
        first_seconds.append(perf_counter() - began)
    else:
        solution = horizons.plan(
            asked.problem,
            now=house.now,
            deterministic_seconds=plan.seconds,
            on_first=lambda _: first_seconds.append(perf_counter() - began),
        )
    reasons = explain(asked.problem, solution, house.clock.say)
    return {
        **answer(asked, solution, reasons, previous, seconds=0.0 if plan.quick else plan.seconds),
        "odds": plan_odds(asked, solution, quick=plan.quick),
        "first_plan_seconds": first_seconds[0] if first_seconds else None,
        "solve_seconds": perf_counter() - began,
    }


@transaction.atomic
def store(plan: Plan, answer: dict[str, Any]) -> None:
    """Keep the answer and, unless it was only a supposition, make it the current plan."""
    stints = answer.pop("stints")
    Property.objects.select_for_update().get(pk=plan.property_id)
    newer = Plan.objects.filter(property=plan.property, is_current=True, pk__gt=plan.pk).exists()
    becomes_current = plan.what_if is None and not newer
    if becomes_current:
        Plan.objects.filter(property=plan.property, is_current=True).update(is_current=False)
    Stint.objects.bulk_create(Stint(plan=plan, **stint) for stint in stints)
    plan.change(
        **answer,
        state=Plan.State.READY,
        is_current=becomes_current,
        solved_at=timezone.now(),
    )
    if becomes_current:
        note_planned_starts(house=plan.property, starts=task_days(plan))


def current_plan(house: Property) -> Plan | None:
    return Plan.objects.filter(property=house, is_current=True).first()


def refuse_if_held(*, boards: Sequence[Board], to_state: str, forced_reason: str) -> None:
    """Refuse to fix boards that someone still needs open.

    Raises:
        Problem: `board-held`, with the holds, unless a reason for doing it all the same is
            given.
    """
    from apps.planning.selectors import board_holds  # noqa: PLC0415 (geometry, 120 ms)

    if to_state != "fixed" or forced_reason:
        return
    house = boards[0].floor.property
    asked = {board.pk for board in boards}
    holds = [hold for hold in board_holds(house) if hold["board"] in asked and not hold["released"]]
    if holds:
        first = holds[0]
        more = len({hold["board"] for hold in holds}) - 1
        others = f" (and {more} more boards are held)" if more else ""
        raise Problem(
            "board-held",
            f"{first['mark']} is held for {first['for']['name']}: {first['reason']}; "
            f"{first['release']}.{others}",
            holds=holds,
        )
