"""Levelling a floor of the house: what was measured, what was asked, and what comes out."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from django.http import QueryDict

from apps.checks.level_results import Levelled
from apps.checks.level_settings import FLATNESS_MM
from apps.checks.level_task import LevelTask
from apps.checks.packers import Packer
from apps.floors.models import Floor
from renovation.errors import Problem

USUAL_PACKERS = "1, 2, 3, 5, 10"
USUAL_FLATNESS = "SR2"
FLATNESS_WORDS = {
    name: f"{name}: {mm} mm under a 2 m straightedge" for name, mm in FLATNESS_MM.items()
}
PACKER = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)(?:\s*[x×]\s*(\d{1,4}))?")


@dataclass
class LevelsView:
    """A floor's levels as the page and the sheet show them."""

    floor: Floor
    packers: str
    flatness: str
    height: str
    datum: str
    data: list[str] = field(default_factory=list)
    spots: tuple[Any, ...] = ()
    unmeasured: list[str] = field(default_factory=list)
    answer: Levelled | None = None
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def query(self) -> dict[str, str]:
        return {
            "packers": self.packers, "flatness": self.flatness, "height": self.height,
            "datum": self.datum,
        }  # fmt: skip

    @property
    def by_bearing(self) -> list[Any]:
        """What to do at each bearing, joist by joist."""
        return [line for line in self.answer.sheet if line.bearing] if self.answer else []

    @property
    def between(self) -> list[Any]:
        """Places between bearings where something is planed off."""
        return (
            [line for line in self.answer.sheet if not line.bearing and line.planed_mm]
            if self.answer
            else []
        )


def packers_of(written: str) -> tuple[Packer, ...]:
    """Thicknesses with commas between, `×` and a number where there are only so many.

    Raises:
        ValueError: with a sentence, for anything else.
    """
    found = []
    for word in filter(None, (part.strip() for part in written.split(","))):
        read = PACKER.fullmatch(word)
        if read is None:
            raise ValueError(f"{word[:20]} is no packer: write 3, or 3 × 12 where there are 12.")
        found.append(
            Packer(thickness_mm=float(read[1]), quantity=int(read[2]) if read[2] else None)
        )
    if not found:
        raise ValueError("Say which thicknesses there are: 1, 2, 3, 5.")
    return tuple(found)


def read_levels(floor: Floor, query: QueryDict) -> LevelsView:
    """What a query asks of a floor, worked out; sentences by field where it cannot be."""
    from apps.checks.levelling import levelled  # noqa: PLC0415 (ortools, 0.5 s)
    from apps.floors import ground  # noqa: PLC0415 (geometry, 120 ms)

    view = LevelsView(
        floor=floor,
        packers=query.get("packers", USUAL_PACKERS)[:200],
        flatness=query.get("flatness", USUAL_FLATNESS)[:10],
        height=query.get("height", "").strip()[:20],
        datum=query.get("datum", "")[:40],
        data=sorted(set(floor.spot_heights.values_list("datum", flat=True))),
    )
    if len(view.data) > 1 and not view.datum:
        view.datum = view.data[0]
    try:
        _, rows = ground.heights_of(floor, view.datum or None)
    except Problem as problem:
        view.errors["datum"] = problem.detail
        return view
    view.spots = ground.spots_of(rows)
    view.unmeasured = ground.unmeasured(floor, view.spots)
    if not view.spots:
        return view
    task = task_of(view)
    if task is not None:
        try:
            view.answer = levelled(task)
        except ValueError as exc:
            view.errors["height" if "height" in str(exc).lower() and view.height else ""] = str(exc)
    return view


def task_of(view: LevelsView) -> LevelTask | None:
    """The question; None, with a sentence at each field that is wrong."""
    packers: tuple[Packer, ...] = ()
    target = None
    try:
        packers = packers_of(view.packers)
    except ValueError as exc:
        view.errors["packers"] = str(exc)
    if view.flatness not in FLATNESS_MM:
        view.errors["flatness"] = f"It is one of {', '.join(FLATNESS_MM)}."
    if view.height:
        if re.fullmatch(r"[+−-]?\d{1,5}(\.\d)?", view.height):
            target = float(view.height.replace("−", "-"))
        else:
            view.errors["height"] = "A height in mm to a tenth, like -3.5; empty: as suits best."
    if view.errors:
        return None
    flatness: Any = view.flatness
    return LevelTask(spots=view.spots, packers=packers, flatness=flatness, target_mm=target)
