"""Levels at a doorway: what lies on the joists of both rooms, and the step between them.

Heights are millimetres to one datum, up positive; thicknesses as laid.

Sources: an inside step of more than about 6 mm trips people: from memory. A ramp strip for 3 to
15 mm and a proper step above: common practice, no source. 15 mm is also the upstand of an
accessible threshold (Approved Document M, second hand), which binds entrances and not the doors
between rooms of an old house.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from apps.checks.results import Note

Needs = Literal["flush", "ramp_strip", "step"]
LARGEST_MM = 20_000
CAUTIONS = (
    "A step where nobody expects one makes people fall; show it to whoever lives in the house.",
    "At an entrance other rules may bind (Approved Document M): building control decides.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwaySettings:
    """Which step needs what; every field has its sentence in `SENTENCES`."""

    flush_to_mm: float = 3.0
    trips_from_mm: float = 6.0
    ramp_to_mm: float = 15.0
    ramp_slope: float = 12.0

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for settings that contradict themselves."""
        if not 0 <= self.flush_to_mm <= self.ramp_to_mm <= 500:
            raise ValueError("Flush ends at or below where a step begins, within 500 mm.")
        if not 0 <= self.trips_from_mm <= 500:
            raise ValueError("A step trips from 0 to 500 mm.")
        if not 1 <= self.ramp_slope <= 100:
            raise ValueError("A ramp rises 1 in 1 to 1 in 100.")


SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "flush_to_mm": "Up to this step [mm] two floors count as flush (common practice, no "
        "source).",
        "trips_from_mm": "A bare step of more than this [mm] trips people (from memory).",
        "ramp_to_mm": "Up to this step [mm] a ramp strip will do; above it is a proper step "
        "(common practice, no source).",
        "ramp_slope": "How gently a ramp strip rises: 1 in this (common practice, no source).",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer above the joists: deck, underlay, finish."""

    name: str
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One side of a doorway: the height of its joists' tops and what lies on them, from below."""

    name: str
    joist_top_mm: float
    layers: tuple[Layer, ...] = ()

    @property
    def finished_mm(self) -> float:
        """Height of the finished floor."""
        return round(self.joist_top_mm + sum(layer.thickness_mm for layer in self.layers), 3)


@dataclass(frozen=True, slots=True)
class Doorway:
    """The step at a doorway. `step_mm` is positive when room b is the higher."""

    a_finished_mm: float
    b_finished_mm: float
    step_mm: float
    needs: Needs
    ramp_length_mm: int
    warnings: tuple[Note, ...]
    cautions: tuple[str, ...]
    sentence: str


def doorway(a: Room, b: Room, settings: DoorwaySettings | None = None) -> Doorway:
    """The step between two finished floors, and what it needs.

    Raises:
        ValueError: a height or thickness out of range.
    """
    settings = settings or DoorwaySettings()
    for room in (a, b):
        if not abs(room.joist_top_mm) <= LARGEST_MM:
            raise ValueError("A height is within 20 m of the datum.")
        if not all(0 <= layer.thickness_mm <= 1000 for layer in room.layers):
            raise ValueError("A layer is 0 to 1000 mm thick.")
    step = round(b.finished_mm - a.finished_mm, 3)
    rise = abs(step)
    needs: Needs = (
        "flush"
        if rise <= settings.flush_to_mm
        else "ramp_strip"
        if rise <= settings.ramp_to_mm
        else "step"
    )
    ramp = round(rise * settings.ramp_slope) if needs == "ramp_strip" else 0
    low, high = (a, b) if step >= 0 else (b, a)
    said = {
        "flush": "counts as flush",
        "ramp_strip": f"needs a ramp strip about {ramp} mm long",
        "step": "is a proper step: nose it, mark it and light it, or pack the lower floor up",
    }[needs]
    warnings = (
        (
            Note(
                "step-trips",
                f"A bare step of {rise:g} mm trips people (over {settings.trips_from_mm:g} mm): "
                "do not leave it open.",
                "from memory",
            ),
        )
        if rise > settings.trips_from_mm
        else ()
    )
    return Doorway(
        a_finished_mm=a.finished_mm,
        b_finished_mm=b.finished_mm,
        step_mm=step,
        needs=needs,
        ramp_length_mm=ramp,
        warnings=warnings,
        cautions=CAUTIONS,
        sentence=(
            f"{a.name} and {b.name} finish level."
            if rise == 0
            else f"{high.name} finishes {rise:g} mm above {low.name}: it {said}. To come level, "
            f"{low.name} needs {rise:g} mm more under its finish."
        ),
    )
