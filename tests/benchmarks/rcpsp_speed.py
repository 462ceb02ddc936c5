"""How short, and how surely, published projects are scheduled: ours beside the textbook model.

Run from the repository's root:
`python -m tests.benchmarks.rcpsp_speed FOLDER BEST.csv [--seconds 5] [--workers 2]`.
FOLDER holds `.sm` or `.sch` files; BEST.csv has at least the columns `instance` and `best_known`
(a whole number, or `infeasible`). Both solvers get the same time on the clock, one after the
other, and every schedule is looked at by the checker of the tests. Prints a line per instance
(value/bound/status and seconds of both) and a table at the end: proven, impossible and proven so,
at best known, mean gap to the best known in per cent over those that have a schedule, without any.
"""

from __future__ import annotations

import argparse
import csv
import time
from collections import defaultdict
from pathlib import Path

from ortools.sat.python import cp_model

from apps.planning.lists.solver import prepare, solve_lists
from apps.planning.published.psplib import read_project
from tests.project_checker import broken, makespan, read


def textbook(project, seconds, workers):
    """One interval a job, one cumulative a resource, default parameters: makespan, word, starts."""
    begun = time.perf_counter()
    model = cp_model.CpModel()
    horizon = sum(
        max([length, *(lag for before, _, lag in project.waits if before == at)])
        for at, length in enumerate(project.durations)
    )
    starts = [model.new_int_var(0, horizon, "") for _ in project.durations]
    jobs = [
        model.new_fixed_size_interval_var(start, length, "")
        for start, length in zip(starts, project.durations, strict=True)
    ]
    for before, after, lag in project.waits:
        model.add(starts[after] >= starts[before] + lag)
    for at, capacity in enumerate(project.capacities):
        model.add_cumulative(jobs, [demand[at] for demand in project.demands], capacity)
    end = model.new_int_var(0, horizon, "")
    for start, length in zip(starts, project.durations, strict=True):
        model.add(end >= start + length)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = seconds - (time.perf_counter() - begun)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None, "impossible", None
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return None, "not_found", None
    word = "proven" if status == cp_model.OPTIMAL else "found"
    return int(solver.objective_value), word, [solver.value(start) for start in starts]


def ours(text, seconds, workers):
    answer = solve_lists(read_project(text), seconds=seconds, workers=workers)
    return answer.makespan, answer.status, answer.starts


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("best", type=Path)
    parser.add_argument("--seconds", type=float, default=5.0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--ours-only", action="store_true")
    options = parser.parse_args()
    with options.best.open(encoding="utf-8") as lines:
        best = {row["instance"]: row["best_known"] for row in csv.DictReader(lines)}
    prepare()
    rows = defaultdict(list)
    for path in sorted(options.folder.iterdir()):
        if path.suffix.lower() not in {".sm", ".sch"} or path.name not in best:
            continue
        text = path.read_text(encoding="utf-8")
        project = read(text)
        runs = {"ours": lambda text=text: ours(text, options.seconds, options.workers)}
        if not options.ours_only:
            runs["textbook"] = lambda project=project: textbook(
                project, options.seconds, options.workers
            )
        for name, run in runs.items():
            begun = time.perf_counter()
            value, word, starts = run()
            seconds = time.perf_counter() - begun
            if value is not None:
                assert broken(project, starts) == []
                assert makespan(project, starts) == value
            assert word != "impossible" or best[path.name] == "infeasible"
            rows[name].append((best[path.name], value, word, seconds))
            print(path.name, best[path.name], name, value, word, f"{seconds:.2f} s", flush=True)
    for name, answers in rows.items():
        known = [(int(b), value) for b, value, *_ in answers if b != "infeasible"]
        gaps = [100 * (value - b) / b for b, value in known if value is not None]
        print(
            f"{name}: {len(answers)} instances,",
            f"proven {sum(word == 'proven' for _, _, word, _ in answers)},",
            f"impossible {sum(word == 'impossible' for _, _, word, _ in answers)},",
            f"at best known {sum(b == value for b, value in known)},",
            f"gap {sum(gaps) / max(1, len(gaps)):.2f} %,",
            f"without schedule {len(known) - len(gaps)},",
            f"slowest {max(seconds for *_, seconds in answers):.2f} s",
        )


if __name__ == "__main__":
    main()
