"""What is asked where a pure function takes more than one dataclass, and how it is answered.

Modules that load numpy or ortools are imported when a question comes, not before.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from apps.checks.build_ups import Doorway, DoorwaySettings, Room, doorway
from apps.checks.cuts import judge_cuts
from apps.checks.decay import JoistEvidence, Probe, along_joist
from apps.checks.decay_settings import DecaySettings, Rot
from apps.checks.drilling import Drilling, where_to_drill
from apps.checks.joist import JoistInput, JoistOutcome, check_joist
from apps.checks.membranes import MembraneSettings, Roll, Sheet, cover
from apps.checks.results import Note
from apps.checks.ventilation import VoidAir, void_air
from apps.checks.ventilation_settings import VentilationSettings
from apps.checks.ventilation_void import Beyond, Opening, Outline, Void, walls_of

MOST_CORNERS = 200
FARTHEST_MM = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class CutsAsked:
    """A joist with its notches and holes, and perhaps a hole still to be drilled.

    Attributes:
        joist: with all its cuts, used or not.
        drill_mm: diameter of the hole to be drilled; left out: none.
        purpose: what runs through it: "pipe", "cable", "gas_pipe" or "other".
    """

    joist: JoistInput
    drill_mm: float | None = None
    purpose: str = "pipe"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutsAnswered:
    """What the rules of thumb say to each cut, what the joist carries with them, where to drill.

    Attributes:
        by_rule: cuts outside the rules of thumb; empty: all inside.
        joist: the calculation on what is left.
        drilling: where the hole may go; null where none was asked for.
    """

    by_rule: tuple[Note, ...]
    joist: JoistOutcome
    drilling: Drilling | None


def cuts(asked: CutsAsked) -> CutsAnswered:
    """Judge the cuts of a joist, and say where it may be drilled."""
    drilling = (
        None
        if asked.drill_mm is None
        else where_to_drill(asked.joist, asked.drill_mm, asked.purpose)
    )
    return CutsAnswered(
        by_rule=tuple(judge_cuts(asked.joist)), joist=check_joist(asked.joist), drilling=drilling
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DecayAsked:
    """Readings along a joist.

    Attributes:
        length_mm: of the joist, end to end.
        probes: what was found, and where.
        decayed: stretches known to be rotten.
        rot: "wet", "dry" or "unknown".
    """

    length_mm: int
    probes: tuple[Probe, ...] = ()
    decayed: tuple[tuple[int, int], ...] = ()
    rot: Rot = "unknown"
    settings: DecaySettings = field(default_factory=DecaySettings)


def decay(asked: DecayAsked) -> JoistEvidence:
    """What the readings say of the joist."""
    return along_joist(
        asked.length_mm, asked.probes, decayed=asked.decayed, rot=asked.rot, settings=asked.settings
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class VentilationAsked:
    """A void under a floor.

    Attributes:
        outline: [[x, y], …] in mm, closed: the last point is the first.
        beyond: what lies beyond each side of the outline, in order: "outside", "solid_floor",
            "void" or "inside"; left out: outside all round.
        openings: air bricks.
        infill: outlines of solid parts in the void.
        clear_mm: from the ground cover to the underside of the joists.
        under_plate_mm: from the ground cover to the underside of the wall plate.
    """

    outline: Outline
    beyond: tuple[Beyond, ...] = ()
    openings: tuple[Opening, ...] = ()
    infill: tuple[Outline, ...] = ()
    clear_mm: int | None = None
    under_plate_mm: int | None = None
    settings: VentilationSettings = field(default_factory=VentilationSettings)

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what is no outline."""
        for what, ring in (("The outline", self.outline), *(("Infill", r) for r in self.infill)):
            if not 4 <= len(ring) <= MOST_CORNERS or ring[0] != ring[-1]:
                raise ValueError(
                    f"{what} is a closed ring of 3 to {MOST_CORNERS - 1} corners: its last point "
                    "is its first."
                )
            if not all(abs(mm) <= FARTHEST_MM for point in ring for mm in point):
                raise ValueError(f"{what} lies within {FARTHEST_MM} mm of its origin.")
            if any(one == other for one, other in pairwise(ring)):
                raise ValueError(f"{what} names a corner twice in a row.")
        if len(self.beyond) > len(self.outline) - 1:
            raise ValueError("More is said beyond the walls than there are walls.")


def ventilation(asked: VentilationAsked) -> VoidAir:
    """Required and provided ventilation of a void."""
    return void_air(
        Void(
            outline=asked.outline,
            walls=walls_of(asked.outline, dict(enumerate(asked.beyond, start=1))),
            openings=asked.openings,
            infill=asked.infill,
            clear_mm=asked.clear_mm,
            under_plate_mm=asked.under_plate_mm,
        ),
        asked.settings,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayAsked:
    """The two rooms at a doorway."""

    a: Room
    b: Room
    settings: DoorwaySettings = field(default_factory=DoorwaySettings)


def at_doorway(asked: DoorwayAsked) -> Doorway:
    """The step between the finished floors."""
    return doorway(asked.a, asked.b, asked.settings)


@dataclass(frozen=True, slots=True, kw_only=True)
class MembraneAsked:
    """Ground to be covered from rolls.

    Attributes:
        length_mm: of the ground, wall to wall.
        width_mm: across it.
        upstand_mm: turned up at every wall.
        gauge_of_sheet: thickness by gauge, to be told where it is thinner than usual.
    """

    length_mm: int
    width_mm: int
    roll: Roll
    upstand_mm: int = 0
    gauge_of_sheet: int | None = None
    settings: MembraneSettings = field(default_factory=MembraneSettings)


def membrane(asked: MembraneAsked) -> Sheet:
    """Strips and rolls for the ground."""
    return cover(
        asked.length_mm,
        asked.width_mm,
        asked.roll,
        upstand_mm=asked.upstand_mm,
        gauge_of_sheet=asked.gauge_of_sheet,
        settings=asked.settings,
    )
