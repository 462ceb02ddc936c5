"""A plan made again in a moment, judged by the checker that was written apart from the planner."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings

from apps.planning.problem import Activity, Calendar, Problem, Ref, Resource, Stint
from apps.planning.quick import solve_quickly
from tests.checker import violations
from tests.strategies import ORIGIN, houses

slow = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@settings(slow, max_examples=40)
@given(houses(rich=True))
def test_every_quick_plan_keeps_the_rules(house):
    assert violations(house, solve_quickly(house)) == []


@settings(slow, max_examples=20)
@given(houses())
def test_a_quick_plan_from_itself_is_no_worse(house):
    first = solve_quickly(house)
    again = solve_quickly(replace(house, previous=first.stints))

    def levels(solution):
        return [level.value for level in solution.levels[:3]]

    assert levels(again) <= levels(first)


def week(*efforts, previous=()):
    """Tasks of one person with an evening of 8 quarter-hours every 96."""
    hours = tuple((96 * n + 72, 96 * n + 80) for n in range(6))
    return Problem(
        ORIGIN, 96 * 6,
        activities=tuple(
            Activity(f"t{n}", Ref("task", n, f"T{n}"), effort, ("crew",), calendars=("crew",))
            for n, effort in enumerate(efforts)
        ),
        calendars=(Calendar("crew", "no_working_time", "", hours),),
        resources=(Resource("crew", "Mar", "crew"),),
        previous=previous,
    )  # fmt: skip


def test_what_need_not_move_stays_where_it_was():
    # Not the order that the planner would choose by itself.
    before = (Stint("t2", 72, 80), Stint("t1", 168, 176), Stint("t0", 264, 272))

    made = solve_quickly(week(8, 8, 8, previous=before))

    assert set(made.stints) == set(before)
    assert made.proven


def test_a_task_that_grows_pushes_on_only_what_follows_it():
    before = (Stint("t0", 72, 80), Stint("t1", 168, 176), Stint("t2", 264, 272))

    made = solve_quickly(week(8, 12, 8, previous=before))

    starts = {stint.activity: stint.start for stint in reversed(made.stints)}
    assert (starts["t0"], starts["t1"]) == (72, 168)
    assert made.level("finish").value == 364
