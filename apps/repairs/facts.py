"""What a repair is worked out from: the joist as it is, what was found on it, what is asked.

Places are distances along the joist's line from its first point [mm]; the joist's ends are
called "start" (its first point) and "far".
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from apps.checks.decay import Probe
from apps.checks.decay_settings import Rot

End = Literal["start", "far"]

ASSUMED_CLASS = "C16"
"""For softwood nobody graded: the customary ceiling (from memory); shown as an assumption."""

DEAD_BARE_KN_M2 = 0.25
"""Boards and joists, no ceiling below: the lower end of NHBC Standards 6.4.8 (read)."""

DEAD_PLASTERED_KN_M2 = 0.6
"""Old boards 0.1 and a lath-and-plaster ceiling 0.5 (from memory)."""


@dataclass(frozen=True, slots=True)
class BearingAt:
    """A bearing from `at_mm`, `length_mm` along the joist."""

    at_mm: int
    length_mm: int
    kind: str

    @property
    def end_mm(self) -> int:
        return self.at_mm + self.length_mm


@dataclass(frozen=True, slots=True)
class CutAt:
    """A notch or hole; `at_mm` is its middle."""

    at_mm: int
    size_mm: int
    depth_mm: int
    kind: str
    edge: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JoistFacts:
    """A joist as recorded, with what its floor says of it. `bearings` from the start on."""

    id: int
    mark: str
    floor: str
    length_mm: int
    breadth_mm: int
    depth_mm: int
    strength_class: str
    condition: str
    bearings: tuple[BearingAt, ...]
    cuts: tuple[CutAt, ...] = ()
    decayed: tuple[tuple[int, int], ...] = ()
    probes: tuple[Probe, ...] = ()
    centres_mm: int = 400
    specified_breadth_mm: int
    specified_depth_mm: int
    specified_class: str = ""
    floor_width_mm: int = 3000
    board_mm: int = 21
    ground_floor: bool = True

    def clear_spans(self) -> tuple[tuple[int, int], ...]:
        """From bearing to bearing (from, to) [mm]; empty when two bearings are not known."""
        gaps = ((one.end_mm, two.at_mm) for one, two in pairwise(self.bearings))
        return tuple((low, high) for low, high in gaps if high > low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the one who asks wants otherwise than usual. None: as usual.

    Attributes:
        rot: which rot it is, as far as somebody could tell.
        allowance: how far past the last sign to cut, a key of `decay_settings.ALLOWANCES`.
        own_allowance_mm: a distance of one's own instead.
        breadth_mm, depth_mm: of the new timber; None: as the joist is.
        strength_class: of the new timber.
        old_strength_class: of the joist, where its row does not say.
        dead_kn_m2: boards, joists and ceiling; None: by `plastered`.
        plastered: a plastered ceiling hangs below; None: only above the ground floor.
        fixing: of laps and sisters, a key of `checks.fasteners.COMMON`.
    """

    rot: Rot = "unknown"
    allowance: str = "customary"
    own_allowance_mm: int | None = None
    breadth_mm: int | None = None
    depth_mm: int | None = None
    strength_class: str | None = None
    old_strength_class: str | None = None
    dead_kn_m2: float | None = None
    imposed_kn_m2: float = 1.5
    service_class: int = 2
    plastered: bool | None = None
    fixing: str = "bolt_m12"
