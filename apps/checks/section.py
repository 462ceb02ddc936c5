"""What is left of a rectangular section where wood is gone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

THINNEST_MM = 1.0  # thinner slivers carry nothing: our choice


@dataclass(frozen=True, slots=True)
class NetSection:
    """A section of one or more strips one above the other [mm, mm³, mm⁴].

    Attributes:
        depth_mm: wood left, all strips together.
        modulus_mm3: of bending; strips that would be overstressed first are left out where that
            gives more.
        inertia_mm4: of all strips.
    """

    depth_mm: float
    modulus_mm3: float
    inertia_mm4: float


def strips(depth_mm: float, gone: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Stretches of the depth that are left, from below, when some are gone."""
    left: list[tuple[float, float]] = []
    low = 0.0
    for start, end in sorted(gone):
        if start - low >= THINNEST_MM:
            left.append((low, start))
        low = max(low, end)
    if depth_mm - low >= THINNEST_MM:
        left.append((low, depth_mm))
    return left


def net_section(
    breadth_mm: float, depth_mm: float, gone: Iterable[tuple[float, float]]
) -> NetSection | None:
    """The section that is left; None where nothing is.

    Plane sections, about the axis of what is left. A thin strip above a hole near the edge may give
    way before the rest is used: then the rest alone counts, so less wood is never stronger.
    """
    left = strips(depth_mm, gone)
    if not left:
        return None
    inertia, modulus = _properties(breadth_mm, left)
    fewer = [
        left[first:last]
        for first, last in combinations(range(len(left) + 1), 2)
        if last - first < len(left)
    ]
    modulus = max([modulus, *(_properties(breadth_mm, some)[1] for some in fewer)])
    return NetSection(sum(high - low for low, high in left), modulus, inertia)


def _properties(breadth_mm: float, left: list[tuple[float, float]]) -> tuple[float, float]:
    area = sum(high - low for low, high in left)
    axis = sum((high - low) * (high + low) / 2 for low, high in left) / area
    inertia = sum(((high - axis) ** 3 - (low - axis) ** 3) / 3 for low, high in left) * breadth_mm
    return inertia, inertia / max(left[-1][1] - axis, axis - left[0][0])
