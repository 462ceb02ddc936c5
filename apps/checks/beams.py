"""Beams in a plane on any number of supports, alone or two side by side joined by springs.

Stiffness matrix of straight beam elements (Euler and Bernoulli: bending only). The standard method
of structural analysis, from memory, high confidence; set against PyNiteFEA 3.2.0 and handbook
formulas. N and mm; down and sagging are positive. Nodes lie where anything changes, so moments,
shears and sags between them are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from apps.checks.beam_elements import Elements, elements

Numbers = NDArray[np.float64]

LEAST_PIVOT = 1e-13
"""A scaled pivot below this is a mechanism, not a beam: rounding leaves about 1e-16."""

LEAST_GAP_MM = 0.5
"""Places nearer than this are one place: the accuracy of shorter elements goes with their cube."""

LONGEST_MM, MOST_N, MOST_EI, MOST_SPRING = 100_000.0, 1e8, 1e18, 1e9
MOST_NODES = 1500


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """One beam.

    Attributes:
        from_mm, to_mm: its ends, on a line that beams side by side have in common.
        stiffness: (from, to, EI [Nmm²]) along all of it, without gaps.
        supports: places that cannot sink; the beam may turn there.
        points: (load [N], place).
        spread: (load [N/mm], from, to).
    """

    from_mm: float
    to_mm: float
    stiffness: tuple[tuple[float, float, float], ...]
    supports: tuple[float, ...] = ()
    points: tuple[tuple[float, float], ...] = ()
    spread: tuple[tuple[float, float, float], ...] = ()

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a beam."""
        _finite("A place on a beam", (self.from_mm, self.to_mm), LONGEST_MM)
        if self.to_mm - self.from_mm < 1:
            raise ValueError("A beam is at least 1 mm long.")
        self._inside("A support", self.supports)
        self._inside("A load", (at for _, at in self.points))
        self._inside("A spread load", (end for _, *ends in self.spread for end in ends))
        _finite("A load", (load for load, *_ in (*self.points, *self.spread)), MOST_N)
        if any(end <= start for _, start, end in self.spread):
            raise ValueError("A spread load ends after it begins.")
        reached = self.from_mm
        for start, end, ei in self.stiffness:
            if abs(start - reached) > LEAST_GAP_MM or end <= start:
                raise ValueError("The stiffness of a beam is given along all of it, in order.")
            if not 0 < ei <= MOST_EI:
                raise ValueError("The stiffness of a beam is more than 0.")
            reached = end
        if abs(reached - self.to_mm) > LEAST_GAP_MM:
            raise ValueError("The stiffness of a beam is given along all of it, in order.")

    def _inside(self, what: str, places: Iterable[float]) -> None:
        if not all(self.from_mm - 1e-6 <= at <= self.to_mm + 1e-6 for at in places):
            raise ValueError(f"{what} lies on the beam, {self.from_mm:g} to {self.to_mm:g} mm.")


@dataclass(frozen=True, slots=True)
class Link:
    """A spring [N/mm] that keeps two beams at one height at a place."""

    at_mm: float
    n_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.n_mm <= MOST_SPRING:
            raise ValueError("The stiffness of a fixing is more than 0.")


@dataclass(frozen=True, slots=True)
class Bent:
    """A beam under its loads. Reactions [N, up] in the order of its supports."""

    reactions: tuple[float, ...]
    parts: Elements

    def deflection(self, places: Sequence[float] | Numbers) -> Numbers:
        """How far it sinks at places [mm]."""
        return self.parts.deflection(np.asarray(places, dtype=float))

    def moment(self, places: Sequence[float] | Numbers) -> Numbers:
        """Moments at places [Nmm]."""
        return self.parts.moment(np.asarray(places, dtype=float))

    def shear(self, places: Sequence[float] | Numbers) -> Numbers:
        """Size of the shear at places [N], the greater one where it jumps."""
        return self.parts.shear(np.asarray(places, dtype=float))

    def greatest_moment(self) -> tuple[float, float]:
        """The moment of the greatest size, with its sign, and its place."""
        return self.parts.greatest_moment()

    def greatest_shear(self) -> tuple[float, float]:
        """The greatest size of the shear, and its place."""
        return self.parts.greatest_shear()

    def greatest_deflection(self) -> tuple[float, float]:
        """The sag or rise of the greatest size, with its sign, and its place."""
        return self.parts.greatest_deflection()


@dataclass(frozen=True, slots=True)
class LinkedBent:
    """Two beams; `link_forces` [N] in the order given, positive where `other` is pushed down."""

    one: Bent
    other: Bent
    link_forces: tuple[float, ...]


def bend(beam: Beam) -> Bent:
    """One beam under its loads; ValueError where it has no two supports."""
    return _solve((beam,), ())[0][0]


def bend_linked(one: Beam, other: Beam, links: Sequence[Link]) -> LinkedBent:
    """Two beams side by side, joined by springs.

    Raises ValueError where a link is not on both, or the two together do not stand.
    """
    for link in links:
        for beam in (one, other):
            beam._inside("A fixing between two joists", (link.at_mm,))  # noqa: SLF001 - ours
    (first, second), forces = _solve((one, other), tuple(links))
    return LinkedBent(first, second, forces)


def _solve(
    beams: tuple[Beam, ...], links: tuple[Link, ...]
) -> tuple[list[Bent], tuple[float, ...]]:
    nodes = [_nodes(beam, links) for beam in beams]
    starts = np.cumsum([0, *(2 * len(one) for one in nodes)])
    if starts[-1] > 2 * MOST_NODES:
        raise ValueError("So many places on a beam are too many to work out.")
    matrix = np.zeros((starts[-1], starts[-1]))
    loads = np.zeros(starts[-1])
    parts = []
    for beam, places, start in zip(beams, nodes, starts[:-1], strict=True):
        part = elements(places, beam.stiffness, beam.spread)
        for number, (stiff, pushed) in enumerate(zip(part.matrices, part.pushed, strict=True)):
            rows = slice(start + 2 * number, start + 2 * number + 4)
            matrix[rows, rows] += stiff
            loads[rows] += pushed
        for load, at in beam.points:
            loads[start + 2 * _nearest(places, at)] += load
        parts.append(part)
    pairs = [
        tuple(int(starts[n] + 2 * _nearest(nodes[n], link.at_mm)) for n in (0, 1)) for link in links
    ]
    for link, (one, other) in zip(links, pairs, strict=True):
        matrix[one, one] += link.n_mm
        matrix[other, other] += link.n_mm
        matrix[one, other] -= link.n_mm
        matrix[other, one] -= link.n_mm
    held = [
        [int(start + 2 * _nearest(places, at)) for at in beam.supports]
        for beam, places, start in zip(beams, nodes, starts[:-1], strict=True)
    ]
    moved = _displacements(matrix, loads, sorted({row for rows in held for row in rows}))
    pushed = matrix @ moved - loads
    bent = [
        Bent(tuple(_shared(pushed, rows)), part.bent(moved[start : start + 2 * len(places)]))
        for part, places, rows, start in zip(parts, nodes, held, starts[:-1], strict=True)
    ]
    forces = tuple(
        float(link.n_mm * (moved[one] - moved[other]))
        for link, (one, other) in zip(links, pairs, strict=True)
    )
    return bent, forces


def _displacements(matrix: Numbers, loads: Numbers, held: list[int]) -> Numbers:
    """Sinkings and turnings; scaled to a unit diagonal first, so that a pivot tells a mechanism."""
    free = np.setdiff1d(np.arange(len(loads)), held)
    inner = matrix[np.ix_(free, free)]
    scale = 1 / np.sqrt(np.diag(inner))
    scaled = inner * scale[:, None] * scale[None, :]
    try:
        lower = np.linalg.cholesky(scaled)
    except np.linalg.LinAlgError:
        lower = np.zeros((1, 1))
    if float(np.min(np.diag(lower)) ** 2) < LEAST_PIVOT:
        raise ValueError(
            "The beam does not stand: it wants two supports, or fixings to one that does."
        )
    moved = np.zeros(len(loads))
    answer = np.linalg.solve(scaled, loads[free] * scale)
    answer += np.linalg.solve(scaled, loads[free] * scale - scaled @ answer)
    moved[free] = answer * scale
    if not np.all(np.isfinite(moved)):
        raise ValueError("The beam does not stand: its figures lead to no finite sag.")
    return moved


def _shared(pushed: Numbers, rows: list[int]) -> list[float]:
    """Reactions; supports at one place share what there is."""
    return [-float(pushed[row]) / rows.count(row) for row in rows]


def _nodes(beam: Beam, links: tuple[Link, ...]) -> Numbers:
    places = [beam.from_mm, beam.to_mm, *beam.supports, *(at for _, at in beam.points)]
    places += [end for _, end, _ in beam.stiffness if end < beam.to_mm]
    places += [end for _, *ends in beam.spread for end in ends]
    places += [link.at_mm for link in links]
    kept: list[float] = []
    for at in sorted(min(max(at, beam.from_mm), beam.to_mm) for at in places):
        if not kept or at - kept[-1] >= LEAST_GAP_MM:
            kept.append(at)
    if beam.to_mm - kept[-1] > 0:
        kept[-1] = beam.to_mm
    return np.array(kept)


def _nearest(places: Numbers, at: float) -> int:
    return int(np.argmin(np.abs(places - at)))


def _finite(what: str, values: Iterable[float], most: float) -> None:
    if not all(abs(value) <= most for value in values):
        raise ValueError(f"{what} is a number of at most {most:g}.")
