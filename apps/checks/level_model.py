"""The levelling of a floor as a small exact optimisation, in whole tenths of a millimetre.

Variables: a stack of packers at every bearing, what is planed off at every spot, and the
floor's height where it is free. A lift between two bearings of a joist is shared between them
by distance, in whole thousandths; beyond its last bearing a joist is lifted as that bearing is.
Least in this order: timber planed off, errors of height, pieces of packing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from ortools.sat.python import cp_model

from apps.checks.level_bounds import JoistSpots
from apps.checks.level_lines import SCALE, Fall, Gap, Line, Spot, falls, gaps, lines, thousandths
from apps.checks.level_results import RULES, Level, Rule
from apps.checks.level_settings import FLATNESS_MM
from apps.checks.level_task import LevelTask
from apps.checks.packers import Stack, stacks

FINE = 1000
"""Heights are reckoned in thousandths of a tenth of a millimetre."""

MOST_SLACK = 10_000


@dataclass(frozen=True, slots=True)
class Goal:
    """A sum to make least; `per_unit` of it make one `unit`."""

    name: str
    expression: cp_model.LinearExpr | int
    per_unit: float
    unit: str

    def reached(self, value: float, bound: float, *, proven: bool) -> Level:
        """What a search reached of it."""
        return Level(self.name, value / self.per_unit, bound / self.per_unit, self.unit, proven)


@dataclass(frozen=True, slots=True)
class Found:
    """A levelled floor: heights and lifts by spot, in tenths of a millimetre."""

    height: int
    lifts: tuple[int, ...]
    stacks: tuple[Stack | None, ...]
    planed: tuple[int, ...]
    finals: tuple[float, ...]
    slack: dict[Rule, int]
    levels: tuple[Level, ...]


class Site:
    """A task laid out for the solver: its lines, straightedges, falls and stacks."""

    def __init__(self, task: LevelTask) -> None:
        self.task = task
        limits = task.settings
        self.base = min(spot.tenths for spot in task.spots)
        self.lines: tuple[Line, ...] = lines(task.spots, limits)
        self.gaps: tuple[Gap, ...] = gaps(self.lines, limits.straightedge_mm)
        self.falls: tuple[Fall, ...] = falls(self.lines, limits)
        self.stacks = stacks(
            task.packers,
            most_pieces=limits.most_pieces,
            most_tenths=floor(limits.most_stack_mm * 10 + 1e-6),
        )
        self.short = [n for n, packer in enumerate(task.packers) if packer.quantity is not None]
        self.stack_of = {(stack.tenths, stack.pieces): stack for stack in self.stacks}
        # The greatest height worth trying, in tenths above the lowest spot.
        top = max(spot.tenths for spot in task.spots) - self.base
        self.highest = top + max(stack.tenths for stack in self.stacks)
        self.joists = joist_spots(task.spots)
        self.shares = tuple(shares(task.spots, number) for number in range(len(task.spots)))


def joist_spots(spots: Sequence[Spot]) -> tuple[JoistSpots, ...]:
    """Each joist by itself: its spots above the lowest of all, and how they are lifted."""
    base = min(spot.tenths for spot in spots)
    found = []
    for joist in dict.fromkeys(spot.joist for spot in spots):
        own = [spot for spot in spots if spot.joist == joist]
        raw = tuple(spot.tenths - base for spot in own)
        found.append(JoistSpots(raw, tuple(shares(own, number) for number in range(len(own)))))
    return tuple(found)


def shares(spots: Sequence[Spot], number: int) -> tuple[tuple[int, int], ...]:
    """By which bearings a spot is lifted, as weights that add up to 1000; none: not at all."""
    spot = spots[number]
    rests = sorted(
        (other.along_mm, key)
        for key, other in enumerate(spots)
        if other.joist == spot.joist and other.bearing
    )
    if not rests:
        return ()
    below = [rest for rest in rests if rest[0] <= spot.along_mm]
    above = [rest for rest in rests if rest[0] >= spot.along_mm]
    if not below or not above:
        return (((below or above)[-1 if below else 0][1], 1000),)
    (start, first), (end, second) = below[-1], above[0]
    if start == end:
        return ((first, 1000),)
    share = thousandths(spot.along_mm - start, end - start)
    return tuple((key, part) for key, part in ((first, 1000 - share), (second, share)) if part)


class Model:
    """The constraint model of one site, at one height or at a free one.

    Args:
        relaxed: rules that may be broken, as little as can be.
        height: of the floor [tenths above the lowest spot]; None: given by the task, or free.
    """

    def __init__(
        self, site: Site, relaxed: Sequence[Rule] = (), *, height: int | None = None
    ) -> None:
        self.site, self.task, self.relaxed = site, site.task, tuple(relaxed)
        self.made = cp_model.CpModel()
        made, spots, limits = self.made, self.task.spots, self.task.settings
        self.slack = {
            rule: made.new_int_var(0, MOST_SLACK if rule in relaxed else 0, rule) for rule in RULES
        }
        self.lift: dict[int, cp_model.IntVar] = {}
        self.pieces: list[cp_model.IntVar] = []
        self.used: dict[int, list[cp_model.IntVar]] = {}
        self.stacked: dict[int, tuple[cp_model.IntVar, ...]] = {}
        for number, spot in enumerate(spots):
            if spot.bearing:
                self.pack(number)
        self.stock()
        most = floor(limits.most_planed_mm * 10 + 1e-6)
        self.planed = [
            made.new_int_var(0, most + (MOST_SLACK if "planing" in relaxed else 0), f"planed{n}")
            for n in range(len(spots))
        ]
        for planed in self.planed:
            made.add(planed <= most + self.slack["planing"])
        self.final = [self.final_height(number) for number in range(len(spots))]
        self.height = self.chosen_height() if height is None else height
        self.flat_and_level()
        self.errors = [self.error(number) for number in range(len(spots))]

    def pack(self, number: int) -> None:
        """A bearing's stack: one of those that can be made, or nearly when that is relaxed."""
        made, site = self.made, self.site
        stacked = made.new_int_var_from_domain(
            cp_model.Domain.from_values(sorted({stack.tenths for stack in site.stacks})),
            f"stack{number}",
        )
        pieces = made.new_int_var(0, self.task.settings.most_pieces, f"pieces{number}")
        counts = []
        if site.short:
            # Which packers make a height matters once one of them can run out.
            counts = [
                made.new_int_var(0, self.task.settings.most_pieces, f"used{number}_{kind}")
                for kind in range(len(self.task.packers))
            ]
            kinds = [packer.tenths for packer in self.task.packers]
            made.add(stacked == cp_model.LinearExpr.weighted_sum(counts, kinds))
            made.add(pieces == sum(counts))
        else:
            made.add_allowed_assignments([stacked, pieces], list(site.stack_of))
        for kind in site.short:
            self.used.setdefault(kind, []).append(counts[kind])
        self.pieces.append(pieces)
        self.stacked[number] = (stacked, pieces, *counts)
        self.lift[number] = stacked
        if "stack" in self.relaxed:
            beyond = made.new_int_var(-MOST_SLACK, MOST_SLACK, f"beyond{number}")
            made.add_abs_equality(made.new_int_var(0, MOST_SLACK, f"far{number}"), beyond)
            made.add(beyond <= self.slack["stack"])
            made.add(beyond >= -self.slack["stack"])
            lift = made.new_int_var(0, 2 * MOST_SLACK, f"lift{number}")
            made.add(lift == stacked + beyond)
            self.lift[number] = lift

    def stock(self) -> None:
        """No more packers than there are, unless stacks are relaxed."""
        for kind, counts in self.used.items():
            quantity = self.task.packers[kind].quantity
            if quantity is not None:
                self.made.add(sum(counts) <= quantity)

    def final_height(self, number: int) -> cp_model.LinearExpr | int:
        """A spot's height when all is done, in `FINE` parts of a tenth above the lowest spot."""
        lifted = sum(part * self.lift[key] for key, part in self.site.shares[number])
        raw = self.task.spots[number].tenths - self.site.base
        return FINE * raw + lifted - FINE * self.planed[number]

    def chosen_height(self) -> cp_model.IntVar | int:
        """The floor's height in tenths above the lowest spot: given, or free."""
        if self.task.target_mm is not None:
            return round(self.task.target_mm * 10) - self.site.base
        return self.made.new_int_var(0, self.site.highest, "height")

    def flat_and_level(self) -> None:
        """The straightedge, the falls, and a fixed height."""
        made = self.made
        flat = FLATNESS_MM[self.task.flatness] * 10 * FINE * SCALE
        for gap in self.site.gaps:
            shown = sum(weight * self.final[spot] for spot, weight in gap.weights)
            made.add(shown <= flat + FINE * SCALE * self.slack["flatness"])
            made.add(shown >= -flat - FINE * SCALE * self.slack["flatness"])
        for fall in self.site.falls:
            most = floor(fall.most_mm * 10 * FINE + 1e-6)
            drop = self.final[fall.first] - self.final[fall.second]
            made.add(drop <= most + FINE * self.slack["slope"])
            made.add(drop >= -most - FINE * self.slack["slope"])
        if self.task.target_mm is not None:
            within = floor(self.task.settings.within_mm * 10 * FINE + 1e-6)
            for final in self.final:
                made.add(final - FINE * self.height <= within + FINE * self.slack["height"])
                made.add(final - FINE * self.height >= -within - FINE * self.slack["height"])

    def error(self, number: int) -> cp_model.IntVar:
        error = self.made.new_int_var(0, 2 * FINE * MOST_SLACK * 10, f"error{number}")
        self.made.add(error >= self.final[number] - FINE * self.height)
        self.made.add(error >= FINE * self.height - self.final[number])
        return error

    def goals(self) -> tuple[Goal, Goal, Goal]:
        """What is made least, in this order."""
        return (
            Goal("planed", sum(self.planed), 10.0, "mm"),
            Goal("errors", sum(self.errors), 10.0 * FINE, "mm"),
            Goal("pieces", sum(self.pieces), 1.0, "packers"),
        )

    def slack_goals(self) -> tuple[Goal, ...]:
        """How far the relaxed rules are broken, then as usual."""
        broken = sum(self.slack[rule] for rule in self.relaxed)
        return (Goal("broken", broken, 10.0, "mm"), *self.goals()[:2])

    def keep(
        self, expression: cp_model.LinearExpr | int, value: int, found: cp_model.CpSolver
    ) -> None:
        """Hold what was reached, and begin the next search from there."""
        self.made.add(expression <= value)
        self.made.clear_hints()  # type: ignore[no-untyped-call]
        for variable in (*self.lift.values(), *self.planed):
            self.made.add_hint(variable, found.value(variable))

    def begin_near(self, height: int) -> None:
        """Begin the search from the stacks that bring every bearing nearest to a height."""
        if not isinstance(self.height, int):
            self.made.add_hint(self.height, height)
        for number, (stacked, pieces, *_) in self.stacked.items():
            wanted = height - (self.task.spots[number].tenths - self.site.base)
            best = min(
                self.site.stacks,
                key=lambda stack: (abs(stack.tenths - wanted), stack.pieces),
            )
            self.made.add_hint(stacked, best.tenths)
            self.made.add_hint(pieces, best.pieces)
        for planed in self.planed:
            self.made.add_hint(planed, 0)

    def read(self, found: cp_model.CpSolver, levels: Sequence[Level]) -> Found:
        """The levelling of a search, in tenths above the datum."""
        site, spots = self.site, self.task.spots
        height = self.height if isinstance(self.height, int) else found.value(self.height)
        lifts = tuple(found.value(self.lift[n]) if n in self.lift else 0 for n in range(len(spots)))
        return Found(
            height=height + site.base,
            lifts=lifts,
            stacks=tuple(
                self.stack_made(found, n) if n in self.stacked else None for n in range(len(spots))
            ),
            planed=tuple(found.value(planed) for planed in self.planed),
            finals=tuple(found.value(final) / FINE + site.base for final in self.final),
            slack={rule: found.value(self.slack[rule]) for rule in RULES},
            levels=tuple(levels),
        )

    def stack_made(self, found: cp_model.CpSolver, number: int) -> Stack:
        """The stack that a search put on a bearing."""
        tenths, pieces, *counts = (found.value(part) for part in self.stacked[number])
        return (
            Stack(tenths, pieces, tuple(counts)) if counts else self.site.stack_of[tenths, pieces]
        )
