"""How well a pile is cut in how little time: seeded random piles of three sizes.

Run from the repository's root: `python -m tests.benchmarks.cutting_speed [seeds]`.
One JSON line per pile: what first fit decreasing costs, what the cutter's plan costs, the bound,
the gap in per cent, each level as [value, bound, proven], seconds by the clock, and the most
memory this process has held so far, in MB (the second process holds about as much).

- `salvage`: 40 pieces with up to 3 defects, 110 parts of 68 lengths, 4 stock lengths, 1 s; a
  fifth of every run begun counts as cost beside the stock bought.
- `house`: 60 pieces with up to 3 defects, 120 needs in 8 sections, 6 stock lengths, 2 s.
- `estate`: 400 pieces, 1,000 needs in 8 sections, 6 stock lengths, 20 s.
- `heap`: the same 400 and 1,000 all of one section, 20 s.

`manage.py bench cutting FILE...` measures published instances.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
from collections import Counter

from apps.timber.cutting.components import split
from apps.timber.cutting.plans import cheapest, first_fit, value
from apps.timber.cutting.problem import Bin, CuttingProblem, Part
from apps.timber.cutting.solver import solve_cutting

KERF_MM = 3
END_TRIM_MM = 15
LEAST_RUN_MM = 150
LEAST_OFFCUT_MM = 300
JOIST_LENGTHS_MM = (1950, 2100, 2365)
SALVAGE_STOCK_MM = (2400, 3000, 3600, 4800)
HOUSE_STOCK_MM = (2400, 3000, 3600, 4200, 4800, 5400)


def clear_runs(chance: random.Random, length_mm: int) -> list[int]:
    """What up to three defects of 40 to 159 mm and two bad ends leave of a piece."""
    defects = sorted(
        (chance.randint(20, length_mm - 180), chance.randint(40, 159))
        for _ in range(chance.randint(0, 3))
    )
    runs, at = [], END_TRIM_MM
    for begin, length in defects:
        runs.append(begin - at)
        at = max(at, begin + length)
    runs.append(length_mm - END_TRIM_MM - at)
    return [run for run in runs if run >= LEAST_RUN_MM]


def salvage(seed: int) -> CuttingProblem:
    """One section, every run open to every part."""
    chance = random.Random(seed)
    bins = [
        Bin(key=f"T{piece}.{number}", length_mm=run, cost=run // 5, opens=f"T{piece}")
        for piece in range(40)
        for number, run in enumerate(clear_runs(chance, chance.randint(700, 4290)))
    ]
    bins += [
        Bin(key=str(length), length_mm=length, supply=None, cost=length)
        for length in SALVAGE_STOCK_MM
    ]
    short = [chance.randint(180, 1500) for _ in range(65)]
    wanted = Counter(short) + Counter({mm: chance.randint(2, 8) for mm in JOIST_LENGTHS_MM})
    while wanted.total() < 110:
        wanted[chance.choice(short)] += 1
    parts = (Part(key=str(mm), length_mm=mm, quantity=n) for mm, n in wanted.items())
    return CuttingProblem(
        parts=tuple(parts), bins=tuple(bins), kerf_mm=KERF_MM, least_offcut_mm=LEAST_OFFCUT_MM
    )


def house(seed: int, pieces: int, needs: int, sections: int) -> CuttingProblem:
    """Needs, pieces and stock each of one section, three ranks of need, prices by section."""
    chance = random.Random(seed)
    parts = []
    for number in range(needs):
        section = chance.randrange(sections)
        length = chance.choice(
            [chance.randint(180, 1500), chance.randint(350, 420), chance.randint(1500, 3900)]
        )
        rank = chance.randint(0, 2)
        parts.append(Part(key=f"{section}:{number}", length_mm=length, rank=rank))
    takes = [
        frozenset(part.key for part in parts if part.key.startswith(f"{section}:"))
        for section in range(sections)
    ]
    bins = []
    for piece in range(pieces):
        runs = clear_runs(chance, chance.randint(900, 4290))
        section = chance.randrange(sections)
        bins += [
            Bin(key=f"T{piece}.{n}", length_mm=run, opens=f"T{piece}", takes=takes[section])
            for n, run in enumerate(runs)
        ]
    for section in range(sections):
        pence_a_metre = chance.randint(150, 900)
        bins += [
            Bin(
                key=f"{section}-{length}",
                length_mm=length,
                supply=None,
                cost=pence_a_metre * length // 1000,
                takes=takes[section],
            )
            for length in HOUSE_STOCK_MM
        ]
    return CuttingProblem(
        parts=tuple(parts), bins=tuple(bins), kerf_mm=KERF_MM, least_offcut_mm=LEAST_OFFCUT_MM
    )


PILES = {
    "salvage": (salvage, 1.0),
    "house": (lambda seed: house(seed, 60, 120, 8), 2.0),
    "estate": (lambda seed: house(seed, 400, 1000, 8), 20.0),
    "heap": (lambda seed: house(seed, 400, 1000, 1), 20.0),
}


def first_fit_cost(problem: CuttingProblem) -> int:
    """What first fit decreasing, the cheapest bin first, costs."""
    total = 0
    for component in split(problem).components:
        plan = first_fit(
            component,
            cheapest,
            demand=[item.demand for item in component.items],
            supply=[kind.supply for kind in component.kinds],
        )
        total += value(component, plan)[-4]
    return total


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("seeds", nargs="?", type=int, default=3)
    parser.add_argument("--pile", choices=PILES, action="append")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    for name in given.pile or PILES:
        make, seconds = PILES[name]
        for seed in range(1, given.seeds + 1):
            problem = make(seed)
            answer = solve_cutting(problem, seconds=seconds, workers=given.workers)
            cost = next(level for level in answer.levels if level.name == "cost")
            line = {
                "pile": name,
                "seed": seed,
                "first_fit": first_fit_cost(problem),
                "cost": cost.value,
                "bound": cost.bound,
                "gap_pct": round(100 * (cost.value - cost.bound) / max(1, cost.bound), 2),
                "levels": {
                    level.name if level.rank is None else f"unmet {level.rank}": [
                        level.value, level.bound, level.proven,
                    ]
                    for level in answer.levels
                },
                "seconds": round(answer.seconds, 2),
                "megabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
            }  # fmt: skip
            print(json.dumps(line), flush=True)


if __name__ == "__main__":
    main()
