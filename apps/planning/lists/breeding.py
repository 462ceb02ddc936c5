"""A population of list schedules that can be bred for a while, asked and told."""

from __future__ import annotations

import math
import time

import numpy as np
import numpy.typing as npt

from . import kernels
from .race import Race
from .windows import Windows

Array = npt.NDArray[np.int64]

A_WHILE = 64
UNKNOWN = 1 << 60
STALE = 40  # births without news for each member, and it is begun again
MOST = 1200  # members
BIRTHS_EACH = 80  # as many children for each member, in the time there is


class Population:
    """Schedules of one net, as starts in the net's own order; the same seed, the same search."""

    def __init__(self, net: kernels.Net, tails: Array, *, members: int, seed: int) -> None:
        self.net = net
        self.tails = tails
        self.starts = np.zeros((members, len(net.dur)), np.int64)
        self.ends = np.full(members, UNKNOWN, np.int64)
        self.founded = self.stale = 0
        # The stream must not begin at 0; odd multiples spread neighbouring seeds apart.
        self.state = np.array([(2 * seed + 1) * 0x9E3779B97F4A7C15 & (2**64 - 1)], np.uint64)
        for _ in range(8):
            kernels.chance(self.state)

    @property
    def members(self) -> int:
        return len(self.ends)

    def go_on(self, floor: int, births: int = A_WHILE) -> None:
        """Found what is missing, or breed: some milliseconds.

        Breeding ends early at a schedule that ends by `floor`. A population that has long
        brought nothing new is begun again.
        """
        if self.stale > STALE * self.members:
            self.founded = self.stale = 0
            self.ends[:] = UNKNOWN
        if self.founded < self.members:
            kernels.found(self.net, self.tails, self.starts, self.ends, self.state, self.founded)
            self.founded = min(self.founded + kernels.LITTER, self.members)
        else:
            before = self.ends.min()
            kernels.breed(self.net, self.starts, self.ends, self.state, births, floor)
            self.stale = self.stale + births if self.ends.min() == before else 0

    def keep(self, members: int) -> None:
        """Be smaller from now on, though not smaller than founded."""
        members = max(members, self.founded)
        self.starts, self.ends = self.starts[:members], self.ends[:members]

    def best(self) -> tuple[int, Array]:
        at = int(self.ends.argmin())
        return int(self.ends[at]), self.starts[at]

    def join(self, end: int, starts: Array) -> None:
        """Take in a schedule found elsewhere, instead of the worst."""
        if self.founded == self.members and not (self.starts == starts).all(axis=1).any():
            at = int(self.ends.argmax())
            self.ends[at], self.starts[at] = end, starts


class Search:
    """One thread's population; it tells the race what it finds and hears what others find."""

    def __init__(
        self, net: kernels.Net, order: list[int], windows: Windows, race: Race, *, seed: int
    ) -> None:
        self.order, self.race, self.seed = np.array(order), race, seed
        self.population = Population(net, windows.tails[self.order], members=MOST, seed=seed)
        self.known = self.race.end

    def go_on(self, until: float = math.inf) -> None:
        """Breed until then, at the longest until the race is over."""
        population, race = self.population, self.race
        if not population.founded:
            begun = time.perf_counter()
            population.go_on(race.bound)
            each = (time.perf_counter() - begun) / population.founded
            population.keep(int(race.left / each / BIRTHS_EACH))
        while not race.over and time.perf_counter() < until:
            population.go_on(race.bound)
            end, starts = population.best()
            if end < race.end:
                told = np.empty(len(starts), np.int64)
                told[self.order] = starts
                race.found(told.tolist())
            elif race.best is not None and race.end < min(end, self.known):
                population.join(race.end, np.array(race.best)[self.order])
            self.known = race.end
