"""A year's plan after one change: how soon, how good, and how much of it moves.

Run from the repository's root: `python -m tests.benchmarks.house_year_replan [FILE …]`; without
a file, three seeded houses. Each is planned first (`--seconds`, 10). Then, on day 60, the next
two crew tasks take twice as long; what has begun stays. One JSON line per house: seconds to the
first plan and in all, whether the three weeks are proven, how many of the coming tasks moved.
"""

from __future__ import annotations

import argparse
import copy
import json
from pathlib import Path
from typing import Any

from apps.planning.published.house_year import read_house_year
from apps.planning.published.house_year_checker import broken_rules, cost_of
from apps.planning.year.replan import replan
from apps.planning.year.warm import prepare
from tests.benchmarks.house_year_instances import DAY, WEEK, house_year

CHANGE_DAY, WEEKS = 60, 3


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--replan-seconds", type=float, default=3.0)
    chosen = parser.parse_args()
    houses = [(file.name, json.loads(file.read_text())) for file in chosen.files] or [
        (f"seed {seed}", house_year(seed, tasks=400, weeks=52)[0]) for seed in (1, 2, 3)
    ]
    solve = prepare()
    for name, house in houses:
        problem = read_house_year(json.dumps(house))
        plan = solve(problem, seconds=chosen.seconds, workers=2)
        before = {key: span[0] for key, span in plan.spans.items()}
        now = CHANGE_DAY * DAY
        changed = longer(house, before, now)
        again = replan(
            read_house_year(json.dumps(changed)),
            before,
            now=now,
            weeks=WEEKS * WEEK,
            seconds=chosen.replan_seconds,
            workers=2,
        )
        coming = [key for key, start in before.items() if start >= now]
        opened = [key for key in coming if before[key] < again.until]
        starts = [again.spans[str(task["id"])][0] for task in changed["tasks"]]
        line = {
            "instance": name,
            "cost_before": plan.cost,
            "cost": cost_of(changed, starts),
            "broken": broken_rules(changed, starts),
            "first_seconds": again.first_seconds and round(again.first_seconds, 3),
            "seconds": round(again.seconds, 3),
            "weeks_opened": (again.until - now) // WEEK,
            "proven": again.proven,
            "fewest_proven": again.fewest,
            "moved": len(again.moved),
            "of_opened": len(opened),
            "of_coming": len(coming),
            "share_moved": round(len(again.moved) / len(coming), 3),
        }
        print(json.dumps(line), flush=True)


def longer(house: Any, before: dict[str, int], now: int) -> Any:
    """The house with its next two plain crew tasks after `now` twice as long."""
    changed = copy.deepcopy(house)
    plain = [
        task
        for task in changed["tasks"]
        if task["by"] == "crew"
        and before[str(task["id"])] >= now
        and not task.get("unbroken")
        and not task.get("one_weekend")
    ]
    for task in sorted(plain, key=lambda task: before[str(task["id"])])[:2]:
        task["units"] *= 2
    return changed


if __name__ == "__main__":
    main()
