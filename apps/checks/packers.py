"""Stacks of packers from the thicknesses to hand. Heights in whole tenths of a millimetre.

Packing is hard, as wide as the joist, and fixed so that it cannot walk out (second hand); slate,
plastic or steel at ends, never stacked soft wood (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

MOST_KINDS = 10
THICKEST_MM = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Packer:
    """One thickness to hand; `quantity` None: as many as wanted."""

    thickness_mm: float
    quantity: int | None = None

    @property
    def tenths(self) -> int:
        return round(self.thickness_mm * 10)


@dataclass(frozen=True, slots=True)
class Stack:
    """Packers on one bearing: their height, and how many of each thickness."""

    tenths: int
    pieces: int
    counts: tuple[int, ...]


def stacks(packers: Sequence[Packer], *, most_pieces: int, most_tenths: int) -> tuple[Stack, ...]:
    """Every height that can be stacked, lowest first; no packer at all is one of them.

    Of stacks of one height only that of fewest pieces is kept.

    Raises:
        ValueError: too many thicknesses, or one that is no packer.
    """
    if len(packers) > MOST_KINDS:
        raise ValueError(f"At most {MOST_KINDS} thicknesses of packers.")
    if not all(
        0.1 <= packer.thickness_mm <= THICKEST_MM
        and abs(packer.thickness_mm * 10 - packer.tenths) < 1e-6
        for packer in packers
    ):
        raise ValueError("A packer is 0.1 to 100 mm thick, to a tenth of a millimetre.")
    if len({packer.tenths for packer in packers}) < len(packers):
        raise ValueError("Give each thickness of packer once.")
    if any(packer.quantity is not None and packer.quantity < 0 for packer in packers):
        raise ValueError("There cannot be fewer than no packers.")
    kept: dict[int, Stack] = {}
    for pieces in range(most_pieces + 1):
        for chosen in combinations_with_replacement(range(len(packers)), pieces):
            counts = tuple(chosen.count(kind) for kind in range(len(packers)))
            height = sum(packers[kind].tenths for kind in chosen)
            if height <= most_tenths and enough(packers, counts):
                kept.setdefault(height, Stack(height, pieces, counts))
    return tuple(sorted(kept.values(), key=lambda stack: stack.tenths))


def enough(packers: Sequence[Packer], counts: Sequence[int]) -> bool:
    return all(
        packer.quantity is None or count <= packer.quantity
        for packer, count in zip(packers, counts, strict=True)
    )
