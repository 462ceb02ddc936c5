"""How soon and how well a house year is planned, next to the textbook model.

Run from the repository's root: `python -m tests.benchmarks.house_year_speed [FILE …]`; without
a file, three seeded houses of 400 tasks. One JSON line for each house and limit.
"""

from __future__ import annotations

import argparse
import json
import os
from pathlib import Path
from time import perf_counter
from typing import Any

from apps.planning.published.house_year import read_house_year
from apps.planning.published.house_year_checker import broken_rules, cost_of
from apps.planning.year.warm import peak_mb, prepare
from tests.benchmarks.house_year_instances import house_year
from tests.benchmarks.house_year_textbook import textbook


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--seconds", type=float, nargs="*", default=[5.0, 20.0])
    parser.add_argument("--textbook", action="store_true", help="the textbook model as well")
    chosen = parser.parse_args()
    houses = [(file.name, json.loads(file.read_text())) for file in chosen.files] or [
        (f"seed {seed}", house_year(seed, tasks=400, weeks=52)[0]) for seed in (1, 2, 3)
    ]
    solve = prepare()
    for name, house in houses:
        for seconds in chosen.seconds:
            begun = perf_counter()
            plan = solve(read_house_year(json.dumps(house)), seconds=seconds, workers=2)
            wall = perf_counter() - begun
            starts = [plan.spans[str(task["id"])][0] for task in house["tasks"]]
            line: dict[str, Any] = {
                "instance": name,
                "limit": seconds,
                "cost": cost_of(house, starts),
                "bound": plan.bound,
                "gap_pct": round(100 * (plan.cost - plan.bound) / plan.bound, 2),
                "broken": len(broken_rules(house, starts)),
                "first_seconds": plan.first_seconds and round(plan.first_seconds, 2),
                "wall_seconds": round(wall, 2),
                "peak_mb": peak_mb(),
            }
            if chosen.textbook:
                begun = perf_counter()
                found, _, _ = textbook(house, seconds=seconds, workers=2)
                line["textbook"] = found and cost_of(house, found)
                line["textbook_seconds"] = round(perf_counter() - begun, 2)
            line["load"] = round(os.getloadavg()[0], 1)
            print(json.dumps(line), flush=True)


if __name__ == "__main__":
    main()
