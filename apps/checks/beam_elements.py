"""The straight elements a beam is made of: their stiffness, and what happens inside one.

Cubic shapes and the exact term of a spread load, so nothing is lost between nodes. N and mm; down
and sagging are positive. From memory, high confidence; see `beams` for what it is set against.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Elements:
    """All elements of one beam, in order; `moved` has the sinking and turning of both ends."""

    start: Numbers
    length: Numbers
    ei: Numbers
    load: Numbers
    moved: Numbers

    @property
    def matrices(self) -> Numbers:
        """Stiffness of each element, 4 by 4."""
        long, one = self.length, np.ones_like(self.length)
        unit = np.array(
            [
                [12 * one, 6 * long, -12 * one, 6 * long],
                [6 * long, 4 * long**2, -6 * long, 2 * long**2],
                [-12 * one, -6 * long, 12 * one, -6 * long],
                [6 * long, 2 * long**2, -6 * long, 4 * long**2],
            ]
        )
        return np.moveaxis(unit * (self.ei / long**3), 2, 0)

    @property
    def pushed(self) -> Numbers:
        """What the spread load of each element does to its ends."""
        long = self.length
        unit = np.array([long / 2, long**2 / 12, long / 2, -(long**2) / 12])
        return (unit * self.load).T

    def bent(self, displacements: Numbers) -> Elements:
        """The same with the displacements of the beam's nodes, two each."""
        pairs = displacements.reshape(-1, 2)
        return replace(self, moved=np.hstack([pairs[:-1], pairs[1:]]))

    def deflection(self, places: Numbers) -> Numbers:
        number, x = self._within(places)
        long, (v1, t1, v2, t2) = self.length[number], self.moved[number].T
        s = x / long
        bent: Numbers = (
            v1 * (1 - 3 * s**2 + 2 * s**3)
            + t1 * long * (s - 2 * s**2 + s**3)
            + v2 * (3 * s**2 - 2 * s**3)
            + t2 * long * (s**3 - s**2)
        )
        bent += self.load[number] * x**2 * (long - x) ** 2 / (24 * self.ei[number])
        return bent

    def moment(self, places: Numbers) -> Numbers:
        return self._moment(*self._within(places))

    def shear(self, places: Numbers) -> Numbers:
        """The greater of the shears just before and just after each place."""
        number, x = self._within(places)
        before = np.maximum(number - (x <= 1e-9), 0)
        at_end = np.where(before < number, self.length[before], x)
        return np.maximum(np.abs(self._shear(number, x)), np.abs(self._shear(before, at_end)))

    def greatest_moment(self) -> tuple[float, float]:
        every = np.arange(len(self.start))
        shear = self._shear(every, np.zeros_like(self.start))
        with np.errstate(divide="ignore", invalid="ignore"):
            turn = np.where(self.load != 0, shear / self.load, 0.0)
        turn = np.clip(np.nan_to_num(turn), 0, self.length)
        number = np.concatenate([every, every, every])
        x = np.concatenate([np.zeros_like(turn), turn, self.length])
        return self._greatest(self._moment(number, x), number, x)

    def greatest_shear(self) -> tuple[float, float]:
        every = np.arange(len(self.start))
        number = np.concatenate([every, every])
        x = np.concatenate([np.zeros_like(self.length), self.length])
        return self._greatest(np.abs(self._shear(number, x)), number, x)

    def greatest_deflection(self) -> tuple[float, float]:
        """At nodes, and inside elements where the slope is nought."""
        places = [self.start, self.start[-1:] + self.length[-1:]]
        for start, long, ei, load, (v1, t1, v2, t2) in zip(
            self.start, self.length, self.ei, self.load, self.moved, strict=True
        ):
            cubic = 2 * (v1 - v2) / long**3 + (t1 + t2) / long**2
            square = 3 * (v2 - v1) / long**2 - (2 * t1 + t2) / long
            w = load / (24 * ei)
            slope = [4 * w, 3 * cubic - 6 * w * long, 2 * square + 2 * w * long**2, t1]
            if not any(slope):
                continue
            roots = np.roots(slope)
            real = roots[np.abs(roots.imag) <= 1e-9 * long].real
            places.append(start + real[(real > 0) & (real < long)])
        flat = np.concatenate(places)
        sags = self.deflection(flat)
        worst = int(np.argmax(np.abs(sags)))
        return float(sags[worst]), float(flat[worst])

    def _within(self, places: Numbers) -> tuple[NDArray[np.intp], Numbers]:
        number = np.clip(np.searchsorted(self.start, places, side="right") - 1, 0, None)
        return number, np.clip(places - self.start[number], 0, self.length[number])

    def _curve(self, number: NDArray[np.intp]) -> tuple[Numbers, Numbers]:
        """−EI v″ of the cubic part at the start, and its rise per mm."""
        long, (v1, t1, v2, t2) = self.length[number], self.moved[number].T
        sway = (v2 - v1) / long
        at_start = (6 * sway - 4 * t1 - 2 * t2) / long
        rise = (-12 * sway + 6 * t1 + 6 * t2) / long**2
        return -self.ei[number] * at_start, -self.ei[number] * rise

    def _moment(self, number: NDArray[np.intp], x: Numbers) -> Numbers:
        start, rise = self._curve(number)
        long = self.length[number]
        return start + rise * x - self.load[number] * (long**2 - 6 * long * x + 6 * x**2) / 12

    def _shear(self, number: NDArray[np.intp], x: Numbers) -> Numbers:
        _, rise = self._curve(number)
        return rise + self.load[number] * (self.length[number] / 2 - x)

    def _greatest(
        self, values: Numbers, number: NDArray[np.intp], x: Numbers
    ) -> tuple[float, float]:
        worst = int(np.argmax(np.abs(values)))
        return float(values[worst]), float(self.start[number[worst]] + x[worst])


def elements(
    nodes: Numbers,
    stiffness: Sequence[tuple[float, float, float]],
    spread: Sequence[tuple[float, float, float]],
) -> Elements:
    """The elements between nodes, which lie at every change of stiffness and of spread load."""
    middle = (nodes[:-1] + nodes[1:]) / 2
    ei = np.zeros(len(middle))
    for start, end, value in stiffness:
        ei[(middle > start) & (middle <= end)] = value
    load = np.zeros(len(middle))
    for value, start, end in spread:
        load[(middle > start) & (middle < end)] += value
    return Elements(nodes[:-1], np.diff(nodes), ei, load, np.zeros((len(middle), 4)))
