"""`manage.py bench`: put published instances to the solvers the product itself uses."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from django.core.management.base import BaseCommand, CommandError, CommandParser


@dataclass(frozen=True, slots=True)
class Family:
    """A kind of instance: what it is, and one answer for each file, ready for JSON."""

    help: str
    answers: Callable[[Mapping[str, Any]], Iterator[dict[str, Any]]]


class Command(BaseCommand):
    help = "Solve published instances and print one JSON line for each."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        families = parser.add_subparsers(dest="family", required=True, metavar="FAMILY")
        for name, family in FAMILIES.items():
            one = families.add_parser(name, help=family.help, description=family.help)
            one.add_argument("files", nargs="+", type=Path, metavar="FILE")
            one.add_argument("--seconds", type=_seconds, default=2.0, help="For each; 2.")
            one.add_argument("--workers", type=int, choices=range(1, 9), default=2, metavar="N")

    def handle(self, *args: Any, **options: Any) -> None:
        for answer in FAMILIES[options["family"]].answers(options):
            self.stdout.write(json.dumps(answer))
            self.stdout.flush()


def _seconds(word: str) -> float:
    seconds = float(word)
    if not 0 < seconds <= 86_400:
        raise argparse.ArgumentTypeError("between 0 and 86,400 seconds")
    return seconds


def cutting(options: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Bin packing and cutting stock, through the timber's cutting core."""
    # numpy and HiGHS take 200 ms: not for every other command.
    from apps.timber.cutting.instances import read_instance  # noqa: PLC0415
    from apps.timber.cutting.solver import solve_cutting  # noqa: PLC0415

    instances = [(path.name, _read(path, read_instance)) for path in options["files"]]
    for name, instance in instances:
        answer = solve_cutting(
            instance.problem(),
            seconds=options["seconds"],
            workers=options["workers"],
            until="cost",
        )
        level = answer.levels[-1]
        yield {
            "instance": name,
            "objective": level.value,
            "bound": level.bound,
            "proven": level.proven,
            "seconds": round(answer.seconds, 3),
            "patterns": [
                [int(key) for key in pattern.part_keys]
                for pattern in answer.patterns
                for _ in range(pattern.count)
            ],
        }


def rcpsp(options: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Project scheduling with resources, with and without longest waits, through the list core."""
    # Readers and solver bring numpy: not for every other command.
    from apps.planning.lists.solver import prepare, solve_lists  # noqa: PLC0415
    from apps.planning.published.psplib import read_project  # noqa: PLC0415

    projects = [(path.name, _read(path, read_project)) for path in options["files"]]
    prepare()
    for name, project in projects:
        answer = solve_lists(project, seconds=options["seconds"], workers=options["workers"])
        yield {
            "instance": name,
            "makespan": answer.makespan,
            "bound": answer.bound,
            "status": answer.status,
            "seconds": round(answer.seconds, 3),
            "first_solution_seconds": (
                None if answer.first_seconds is None else round(answer.first_seconds, 3)
            ),
            "starts": list(answer.starts),
        }


def house(options: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """House years through the year core; every answer is checked by what knows only the file."""
    # Readers and solver bring numpy: not for every other command.
    from apps.planning.published.house_year import read_house_year  # noqa: PLC0415
    from apps.planning.published.house_year_checker import broken_rules, cost_of  # noqa: PLC0415
    from apps.planning.year.warm import peak_mb, prepare  # noqa: PLC0415

    def both(text: str) -> tuple[Any, Any]:
        problem = read_house_year(text)  # first: it has the sentence for what is no house
        return json.loads(text), problem

    houses = [(path.name, *_read(path, both)) for path in options["files"]]
    solve = prepare()
    for name, house_as_read, problem in houses:
        answer = solve(problem, seconds=options["seconds"], workers=options["workers"])
        spans = [answer.spans.get(activity.key) for activity in problem.activities]
        starts = [span[0] for span in spans if span is not None]
        whole = len(starts) == len(spans)
        yield {
            "instance": name,
            "cost": cost_of(house_as_read, starts) if whole else None,
            "bound": answer.bound,
            "feasible": whole and not broken_rules(house_as_read, starts),
            "seconds": round(answer.seconds, 3),
            "first_plan_seconds": (
                None if answer.first_seconds is None else round(answer.first_seconds, 3)
            ),
            "peak_mb": peak_mb(),
            "starts": [None if span is None else span[0] for span in spans],
        }


T = TypeVar("T")


def _read(path: Path, reader: Callable[[str], T]) -> T:
    try:
        return reader(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as wrong:
        said = "is not text" if isinstance(wrong, UnicodeDecodeError) else wrong
        raise CommandError(f"{path}: {said}") from wrong


FAMILIES: Mapping[str, Family] = {
    "cutting": Family("Bin packing and cutting stock, in either published text layout.", cutting),
    "rcpsp": Family("Project scheduling with resources: PSPLIB .sm and RCPSP/max .sch.", rcpsp),
    "house": Family("A house year: hundreds of tasks for one person, in JSON.", house),
}
