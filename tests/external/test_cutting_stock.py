"""The cutter against published instances and a second opinion.

Sources:
- 5,600 mm master rolls, thirteen widths: encyclopedia article "Cutting stock problem"
  (Wikipedia), read in a stored copy: at least 72.7 rolls by length, 73 reached.
- Widths 45, 36, 31 and 14 from 100, the common textbook example (V. Chvátal, "Linear
  Programming", 1983, chapter 13, from memory; data and results read in public worked
  solutions): linear bound 452.25, 453 rolls.
- 15, 10 and 6 from 30, wanted 1, 2 and 4 times (D. Fieldhouse, "The duality gap in trim
  problems", SICUP Bulletin 5, 1990, from memory): linear bound 59/30, yet 3 are needed; the
  second opinion below agrees.
- Triplets whose every optimum wastes nothing: built as E. Falkenauer describes, "A hybrid
  grouping genetic algorithm for bin packing", Journal of Heuristics 2, 1996 (from memory):
  the optimum is known because the parts are made by cutting full bins in three.
- Everything small, all levels: CP-SAT (OR-Tools), a model of its own with one copy of every
  bin and one variable for each part in each copy, solved to the end level by level.
"""

import random
from collections import Counter

import pytest
from hypothesis import given, settings
from ortools.sat.python import cp_model

from apps.timber.cutting.problem import Bin, CuttingProblem, Part, waste_mm
from apps.timber.cutting.solver import solve_cutting
from tests.unit.cutting_stories import problems, values

MASTER_ROLLS = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
    2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def rolls(capacity, wanted):
    return CuttingProblem(
        parts=tuple(
            Part(key=str(size), length_mm=size, quantity=count) for size, count in wanted.items()
        ),
        bins=(Bin(key="roll", length_mm=capacity, supply=None, cost=1),),
    )


@pytest.mark.parametrize(
    ("capacity", "wanted", "fewest"),
    [
        (5600, MASTER_ROLLS, 73),
        (100, {45: 97, 36: 610, 31: 395, 14: 211}, 453),
        (30, {15: 1, 10: 2, 6: 4}, 3),
    ],
)
def test_published_instances_are_solved_and_proven(capacity, wanted, fewest):
    cost = solve_cutting(rolls(capacity, wanted), seconds=30, until="cost").levels[-1]
    assert (cost.value, cost.bound, cost.proven) == (fewest, fewest, True)


@pytest.mark.parametrize("triplets", [20, 40])
def test_triplets_are_packed_without_waste(triplets):
    chance = random.Random(triplets)
    wanted = Counter()
    for _ in range(triplets):
        first = chance.randint(380, 490)
        second = chance.randint(250, (1000 - first) // 2)
        wanted.update((first, second, 1000 - first - second))
    cost = solve_cutting(rolls(1000, wanted), seconds=60, until="cost").levels[-1]
    assert (cost.value, cost.proven) == (triplets, True)


@settings(max_examples=30, deadline=None)
@given(problem=problems())
def test_every_level_of_a_small_problem_is_what_an_exhaustive_search_finds(problem):
    solution = solve_cutting(problem, seconds=30)
    assert solution.proven
    assert values(solution) == exhaustive(problem)


def exhaustive(problem):
    """All levels, one after the other, each to the end."""
    model = cp_model.CpModel()
    total = sum(part.quantity for part in problem.parts)
    copies = [
        bin_ for bin_ in problem.bins for _ in range(total if bin_.supply is None else bin_.supply)
    ]
    placed, used, waste, even = {}, [], [], []
    for number, bin_ in enumerate(copies):
        for part in problem.parts:
            if bin_.takes is None or part.key in bin_.takes:
                placed[part.key, number] = model.new_int_var(0, part.quantity, "")
        inside = [(part, placed[part.key, number]) for part in problem.parts
                  if (part.key, number) in placed]  # fmt: skip
        begun = model.new_bool_var("")
        model.add(sum(count for _, count in inside) >= 1).only_enforce_if(begun)
        model.add(sum(count for _, count in inside) == 0).only_enforce_if(~begun)
        # What is over when every part has taken a kerf along, the bin itself lending one.
        kerf = problem.kerf_mm
        over = model.new_int_var(0, bin_.length_mm + kerf, "")
        model.add(over == bin_.length_mm + kerf - sum((p.length_mm + kerf) * n for p, n in inside))
        table = [
            waste_mm(max(0, rest - kerf), problem.least_offcut_mm)
            for rest in range(bin_.length_mm + kerf + 1)
        ]
        wasted = model.new_int_var(0, max(table), "")
        counted = model.new_int_var(0, max(table), "")
        model.add_element(over, table, wasted)
        model.add(counted == wasted).only_enforce_if(begun)
        model.add(counted == 0).only_enforce_if(~begun)
        full = model.new_bool_var("")
        model.add(over == 0).only_enforce_if(full)
        model.add(over >= 1).only_enforce_if(~full)
        used.append(begun)
        waste.append(counted)
        even.append(full)
    unmet = {}
    for part in problem.parts:
        unmet[part.key] = model.new_int_var(0, part.quantity, "")
        met = sum(placed[part.key, n] for n in range(len(copies)) if (part.key, n) in placed)
        model.add(met + unmet[part.key] == part.quantity)
    opened = {}
    for begun, bin_ in zip(used, copies, strict=True):
        if bin_.opens is not None:
            opened.setdefault(bin_.opens, model.new_bool_var(""))
            model.add_implication(begun, opened[bin_.opens])
    levels = [
        sum(unmet[part.key] for part in problem.parts if part.rank == rank)
        for rank in sorted({part.rank for part in problem.parts})
    ]
    levels += [
        sum(begun * bin_.cost for begun, bin_ in zip(used, copies, strict=True))
        + sum(count * copies[n].handling.get(key, 0) for (key, n), count in placed.items()),
        sum(opened.values()),
        sum(waste),
        sum(placed.values()) - sum(even),
    ]
    reached = []
    for level in levels:
        model.minimize(level)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL
        reached.append(round(solver.objective_value))
        model.add(level <= reached[-1])
    return reached
