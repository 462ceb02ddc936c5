"""Sheet under a floor: gauge and micron, strips with their laps, and how many rolls.

Sources: 1200 gauge (300 micron) since 1992, 1000 gauge before: Approved Document C 1992, read in
a copy. Laps of 150 mm, sealed with tape, or a double welted fold with 300 mm of each sheet: a
builders' metalwork data page, second hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from apps.checks.results import Note

Joint = Literal["taped_lap", "welted_fold"]

MICRON_PER_GAUGE = 0.25
"""1200 gauge is 300 micron: Approved Document C 1992, read in a copy."""

LARGEST_MM = 200_000
CAUTIONS = (
    "Building control decides which sheet is wanted here.",
    "A sheet in the wrong place of an old floor can hold damp in the timber.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MembraneSettings:
    """How sheets are joined; every field has its sentence in `SENTENCES`."""

    joint: Joint = "taped_lap"
    taped_lap_mm: int = 150
    welt_mm: int = 300
    least_gauge: int = 1200
    end_laps: bool = True
    shortest_piece_mm: int = 500

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        if self.joint not in {"taped_lap", "welted_fold"}:
            raise ValueError("A joint is a taped_lap or a welted_fold.")
        if not all(0 <= mm <= 2000 for mm in (self.taped_lap_mm, self.welt_mm)):
            raise ValueError("A lap is 0 to 2000 mm.")
        if not (0 <= self.least_gauge <= 10_000 and 1 <= self.shortest_piece_mm <= 10_000):
            raise ValueError("Gauge 0 to 10 000, shortest piece 1 to 10 000 mm.")

    @property
    def lap_mm(self) -> int:
        """How much of a sheet's width or length a joint takes."""
        return self.taped_lap_mm if self.joint == "taped_lap" else self.welt_mm


SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "joint": "How sheets are joined: lapped and taped, or a double welted fold.",
        "taped_lap_mm": "A lap sealed with tape [mm]: 150 (second hand).",
        "welt_mm": "What a double welted fold takes of each sheet [mm]: 300 (second hand).",
        "least_gauge": "The least gauge for the ground under a floor: 1200 since 1992, 1000 "
        "before (Approved Document C 1992, read in a copy); 1000 may be taken with a certificate "
        "(second hand).",
        "end_laps": "Whether a strip may be made of two lengths, lapped at their ends.",
        "shortest_piece_mm": "Shorter ends of a roll [mm] are not lapped in (common practice, no "
        "source).",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """A roll as sold."""

    width_mm: int
    length_mm: int


@dataclass(frozen=True, slots=True)
class Laying:
    """One way of covering the ground: strips that run along one side of it."""

    runs_along: Literal["length", "width"]
    strips: int
    strip_mm: int
    end_laps: int
    rolls: int
    tape_mm: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """How to cover the ground with fewest rolls, then with least to tape."""

    best: Laying
    other: Laying | None
    lap_mm: int
    warnings: tuple[Note, ...]
    cautions: tuple[str, ...]
    sentence: str


def micron(gauge: float) -> float:
    """Thickness [micron] of a sheet of this gauge.

    Raises:
        ValueError: not above nought.
    """
    if not 0 < gauge < 1e6:
        raise ValueError("A gauge is above nought.")
    return gauge * MICRON_PER_GAUGE


def gauge(microns: float) -> float:
    """Gauge of a sheet of this thickness [micron].

    Raises:
        ValueError: not above nought.
    """
    if not 0 < microns < 1e6:
        raise ValueError("A thickness is above nought.")
    return microns / MICRON_PER_GAUGE


def cover(
    length_mm: int,
    width_mm: int,
    roll: Roll,
    *,
    upstand_mm: int = 0,
    gauge_of_sheet: int | None = None,
    settings: MembraneSettings | None = None,
) -> Sheet:
    """Strips and rolls for a rectangle of ground.

    Args:
        length_mm: of the ground, wall to wall.
        width_mm: across it.
        upstand_mm: turned up at every wall.
        gauge_of_sheet: to be told when it is thinner than usual; None: not known.

    Raises:
        ValueError: a size out of range, or a roll that its own laps use up.
    """
    settings = settings or MembraneSettings()
    lap = settings.lap_mm
    if not all(1 <= mm <= LARGEST_MM for mm in (length_mm, width_mm, roll.length_mm)):
        raise ValueError("Lengths are 1 mm to 200 m.")
    if not 0 <= upstand_mm <= 2000:
        raise ValueError("An upstand is 0 to 2000 mm.")
    if not 2 * lap < roll.width_mm <= LARGEST_MM or roll.length_mm <= 2 * lap:
        raise ValueError(f"A roll is wider and longer than two joints of {lap} mm.")
    long, wide = length_mm + 2 * upstand_mm, width_mm + 2 * upstand_mm
    tried = [
        laying
        for laying in (
            strips("length", long, wide, roll, settings),
            strips("width", wide, long, roll, settings),
        )
        if laying is not None
    ]
    if not tried:
        raise ValueError("The roll is shorter than a strip, and end laps are not wanted.")
    best, *others = sorted(tried, key=lambda way: (way.rolls, way.end_laps, way.tape_mm))
    return Sheet(
        best=best,
        other=others[0] if others else None,
        lap_mm=lap,
        warnings=thin(gauge_of_sheet, settings),
        cautions=CAUTIONS,
        sentence=(
            f"{counted(best.rolls, 'roll')}: {counted(best.strips, 'strip')} of "
            f"{best.strip_mm} mm along the {best.runs_along}, joints of {lap} mm, "
            f"{best.tape_mm / 1000:.1f} m of joint to seal."
        ),
    )


def strips(
    runs_along: Literal["length", "width"],
    along_mm: int,
    across_mm: int,
    roll: Roll,
    settings: MembraneSettings,
) -> Laying | None:
    """Strips along one side; None when a strip needs an end lap that is not wanted."""
    lap = settings.lap_mm
    count = max(1, -(-(across_mm - lap) // (roll.width_mm - lap)))
    if not settings.end_laps and along_mm > roll.length_mm:
        return None
    used = Cutting(roll.length_mm, lap, settings.shortest_piece_mm if settings.end_laps else None)
    for _ in range(count):
        used.strip(along_mm)
    tape = (count - 1) * along_mm + used.end_laps * roll.width_mm
    return Laying(runs_along, count, along_mm, used.end_laps, used.rolls, tape)


@dataclass(slots=True)
class Cutting:
    """Strips cut off one roll after another; `shortest_mm` None: never two lengths in a strip."""

    roll_mm: int
    lap_mm: int
    shortest_mm: int | None
    rolls: int = 0
    end_laps: int = 0
    left_mm: int = field(default=0)

    def strip(self, need_mm: int) -> None:
        """Cut one strip, lapping on from the next roll where the piece runs out."""
        while need_mm > 0:
            if self.left_mm < need_mm and self.too_short():
                self.rolls += 1
                self.left_mm = self.roll_mm
            piece = min(self.left_mm, need_mm)
            self.left_mm -= piece
            need_mm -= piece
            if need_mm > 0:
                need_mm += self.lap_mm
                self.end_laps += 1

    def too_short(self) -> bool:
        """Whether what is left of the roll is not worth lapping in."""
        if self.shortest_mm is None:
            return True
        return self.left_mm < max(self.shortest_mm, self.lap_mm + 1)


def thin(gauge_of_sheet: int | None, settings: MembraneSettings) -> tuple[Note, ...]:
    if gauge_of_sheet is None or gauge_of_sheet >= settings.least_gauge:
        return ()
    return (
        Note(
            "sheet-thin",
            f"{gauge_of_sheet} gauge ({micron(gauge_of_sheet):g} micron) is thinner than the "
            f"usual {settings.least_gauge} gauge ({micron(settings.least_gauge):g} micron).",
            "Approved Document C 1992 (read in a copy)",
        ),
    )


def counted(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
