"""`manage.py bench`: put published instances to the solvers the product itself uses."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

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

    instances = []
    for path in options["files"]:
        try:
            instances.append((path.name, read_instance(path.read_text(encoding="utf-8"))))
        except (OSError, ValueError) as wrong:
            said = "is not text" if isinstance(wrong, UnicodeDecodeError) else wrong
            raise CommandError(f"{path}: {said}") from wrong
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


FAMILIES: Mapping[str, Family] = {
    "cutting": Family("Bin packing and cutting stock, in either published text layout.", cutting),
}
