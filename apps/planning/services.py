"""Making plans: ask for one, solve it, stop it.

A plan is a job (`renovation.jobs`): whoever claims its row solves it outside any transaction and
stores the answer in one. A failed solve stores why and leaves the last good plan current.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from time import perf_counter
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from apps.floors.models import Board
from apps.planning.models import Plan, Stint
from apps.planning.spans import task_days
from apps.property.models import Property
from apps.timber.services.needs import note_planned_starts
from renovation import jobs
from renovation.errors import Problem

READ_PCT, FIRST_PCT, SOLVED_PCT, EXPLAINED_PCT = 5, 20, 80, 90


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
    because: str = Plan.Because.ASKED,
    night_of: date | None = None,
) -> Plan:
    """Queue a plan, and hand it to the workers once it is stored.

    It takes the place of those of the house that are still queued. Of suppositions, only of the
    same one; a quick plan leaves one in the queue that was to be searched for longer.
    """
    plan = Plan.objects.create(
        property=house,
        as_of=as_of,
        horizon_days=horizon_days,
        seconds=seconds,
        quick=quick,
        requested_by=requested_by,
        what_if=what_if,
        because=because,
        night_of=night_of,
    )
    before = Plan.objects.filter(property=house, what_if=what_if)
    if what_if is None:
        before = Plan.objects.filter(property=house, what_if__isnull=True)
    jobs.supersede(before.filter(quick=True) if quick else before, by=plan)
    jobs.hand_out(KIND, plan)
    return plan


def solve(*, plan_id: int) -> None:
    """Solve the plan that is next in turn. Safe to run twice: the second run finds none."""
    jobs.work(KIND, plan_id)


def requeue_left_plans() -> None:
    """Hand out again what was queued or claimed and never finished."""
    jobs.sweep(KIND, now=timezone.now())


def cancel_plan(*, plan: Plan) -> Plan:
    """Stop a plan that is queued or being solved; the current one stays as it is."""
    jobs.cancel(plan)
    return plan


def make(plan: Plan) -> None:
    store(plan, work_out(plan, told=lambda pct: jobs.note_progress(plan, pct)))


def task() -> Any:
    from apps.planning.tasks import solve_plan  # noqa: PLC0415 (tasks import this module)

    return solve_plan


def failure(exc: Exception) -> str:
    """What the person is told of a plan that was not made."""
    if isinstance(exc, SoftTimeLimitExceeded):
        return "The planner was stopped, as it took too long; the last good plan still stands."
    return "The planner stopped on an error; the last good plan still stands."


KIND = jobs.Kind(rows=Plan, task=task, do=make, failure=failure)


def work_out(plan: Plan, *, told: Callable[[int], None] = lambda _: None) -> dict[str, Any]:
    """Read the house, solve, explain, find the alerts: all the plan's answer, nothing stored.

    `told` hears how far it is [%].
    """
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
    told(READ_PCT)

    def first_found(_: Any) -> None:
        first_seconds.append(perf_counter() - began)
        told(FIRST_PCT)

    if plan.quick:
        solution = solve_quickly(asked.problem)
        first_seconds.append(perf_counter() - began)
    else:
        solution = horizons.plan(
            asked.problem,
            now=house.now,
            deterministic_seconds=plan.seconds,
            on_first=first_found,
        )
    told(SOLVED_PCT)
    reasons = explain(asked.problem, solution, house.clock.say)
    found = answer(asked, solution, reasons, previous, seconds=0.0 if plan.quick else plan.seconds)
    told(EXPLAINED_PCT)
    return {
        **found,
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
    # The claim first: a plan that was given up may not overwrite its successor's answer.
    jobs.finish(
        plan, state=Plan.State.READY, progress_pct=100, is_current=becomes_current, **answer
    )
    Stint.objects.bulk_create(Stint(plan=plan, **stint) for stint in stints)
    if becomes_current:
        note_planned_starts(house=plan.property, starts=task_days(plan))
    transaction.on_commit(lambda: measure(answer))


def measure(answer: dict[str, Any]) -> None:
    """Count a plan where somebody measures."""
    if settings.METRICS:
        from renovation import metrics  # noqa: PLC0415 (only where somebody measures)

        metrics.plan_made(
            solve_seconds=answer["solve_seconds"], gap=answer["gap"], alerts=answer["alerts"]
        )


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
