"""The textbook model of a house year: one CP-SAT model, every start a variable on the wall clock.

Written from `house_year.md` alone, for comparison and for the optimum of small houses.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ortools.sat.python import cp_model

from apps.planning.published.house_year_checker import DAY, SATURDAY, WEEK


def places(house: Mapping[str, Any], task: Mapping[str, Any]) -> list[tuple[int, int]]:
    """Every (start, end) that a task's own rules allow."""
    units, horizon = task["units"], house["horizon"]
    if task["by"] != "crew":
        opens, closes = house["visit_hours"]
        starts = [
            day * DAY + at
            for day in house["trade_days"][task["by"]]
            for at in range(opens, closes - units + 1)
        ]
        if "fixed_start" in task:
            starts = [task["fixed_start"]]
        return [(start, start + units) for start in starts if start + units <= horizon]
    working = [(unit, slot) for slot in house["crew_slots"] for unit in range(*slot)]
    found = []
    for (start, slot), (last, end_slot) in zip(working, working[units - 1 :], strict=False):
        if task.get("unbroken") and slot != end_slot:
            continue
        if task.get("one_weekend") and (start % WEEK < SATURDAY or start // WEEK != last // WEEK):
            continue
        found.append((start, last + 1))
    return found


def textbook(
    house: Mapping[str, Any], *, seconds: float, workers: int
) -> tuple[list[int] | None, int, bool]:
    """Starts (None: none found), bound, and whether the answer is final."""
    model = cp_model.CpModel()
    horizon = house["horizon"]
    start, end, intervals = {}, {}, {}
    for task in house["tasks"]:
        name, allowed = task["id"], places(house, task)
        if not allowed:
            return None, 0, True
        which = model.new_int_var(0, len(allowed) - 1, "")
        start[name] = model.new_int_var(0, horizon, "")
        end[name] = model.new_int_var(0, horizon, "")
        model.add_element(which, [place[0] for place in allowed], start[name])
        model.add_element(which, [place[1] for place in allowed], end[name])
        size = model.new_int_var(0, horizon, "")
        intervals[name] = model.new_interval_var(start[name], size, end[name], "")
    for by in ("crew", *house["trade_days"]):
        own = [intervals[task["id"]] for task in house["tasks"] if task["by"] == by]
        model.add_no_overlap(own)
    for link in house["links"]:
        wait = start[link["after"]] - end[link["before"]]
        model.add(wait >= link["min_lag"])
        if "max_lag" in link:
            model.add(wait <= link["max_lag"])
    for floor in house["open_floors"]:
        opened, closed = start[floor["opens_with"]], end[floor["closes_with"]]
        for name in floor["not_during"]:
            sooner = model.new_bool_var("")
            model.add(end[name] <= opened).only_enforce_if(sooner)
            model.add(start[name] >= closed).only_enforce_if(~sooner)
    held = []
    for name in house["jack"]["tasks"]:
        until = model.new_int_var(0, 2 * horizon, "")
        model.add_max_equality(until, [end[name], start[name] + house["jack"]["held_units"]])
        size = model.new_int_var(0, horizon, "")
        held.append(model.new_interval_var(start[name], size, until, ""))
    model.add_no_overlap(held)
    finish = model.new_int_var(0, horizon, "")
    model.add_max_equality(finish, list(end.values()))
    late = []
    for task in house["tasks"]:
        if "due" in task:
            by = model.new_int_var(0, horizon, "")
            model.add(by >= end[task["id"]] - task["due"])
            late.append(task["late_weight"] * by)
    model.minimize(finish + sum(late))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    final = status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return None, 0, final
    starts = [solver.value(start[task["id"]]) for task in house["tasks"]]
    return starts, round(solver.best_objective_bound), final
