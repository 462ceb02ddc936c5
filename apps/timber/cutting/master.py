"""The linear programme over the patterns known so far (the restricted master).

Rows: one for each item (its copies and the unmet ones make up the demand), one for each kind
that can run out (at most its supply; for a run of a piece with several, at most its supply
while the piece is opened), and one for each level of the objective already settled (no worse
than what was reached). Columns: a count for each pattern, the unmet copies of each item, for
each piece of several runs whether it is opened, and one more (below).

Two rows beyond the levels, `most` and `least`, say how many mm of endless bins are begun: the
lengths the yard sells are whole multiples of one step, so there is nothing between two of them
(`bought.py`). The last of the first columns is what is bought beyond `most`, at a price no plan
pays, so that the programme has an answer even where no plan has.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import highspy
import numpy as np
from numpy.typing import NDArray

from apps.timber.cutting.components import Component
from apps.timber.cutting.plans import Use, costs, ranks
from apps.timber.cutting.programme import part_of, quiet

Numbers = NDArray[np.float64]
Counts = NDArray[np.int64]
INFINITE = highspy.kHighsInf
DUAL, PRIMAL = 1, 4
"""HiGHS' numbers for the two simplex methods."""
TOO_DEAR = 10
"""So many times the dearest bin's price a mm is what is bought beyond `most`."""


class Master:
    """Patterns known, and what the linear programme says about them."""

    def __init__(self, component: Component) -> None:
        self.component = component
        self.ranks = ranks(component)
        self.levels = len(self.ranks) + 4
        self.uses: list[Use] = []
        self.known: dict[Use, int] = {}
        self.most, self.least = self.levels, self.levels + 1
        self.bought = [component.bought_mm(kind) for kind in component.kinds]
        items, groups = len(component.items), component.groups
        self.first = items + groups + 1
        """The column of the first pattern."""
        self.tight = [
            number
            for number, kind in enumerate(component.kinds)
            if kind.limited or kind.group is not None
        ]
        self._row = {number: items + place for place, number in enumerate(self.tight)}
        self.level_row: dict[int, int] = {}
        self.kept: dict[int, int] = {}
        self.matrix = np.zeros((64, items), dtype=np.int32)
        self.kind_of = np.zeros(64, dtype=np.int64)
        self.charge = np.zeros((64, self.levels + 2), dtype=np.int64)
        """What one bin of each pattern adds to each level, and to `most` and `least`."""
        self.aim = 0
        self.demand = np.array([item.demand for item in component.items], dtype=np.int64)
        self.supply = np.array([kind.supply for kind in component.kinds], dtype=np.int64)
        self.solver = quiet()
        self.solver.setOptionValue("presolve", "off")
        self._rows_and_first_columns()

    def _rows_and_first_columns(self) -> None:
        component, solver = self.component, self.solver
        nothing, no_values = np.zeros(0, dtype=np.int32), np.zeros(0)
        for item in component.items:
            solver.addRow(float(item.demand), INFINITE, 0, nothing, no_values)
        for number in self.tight:
            kind = component.kinds[number]
            most = 0.0 if kind.group is not None else float(kind.supply)
            solver.addRow(-INFINITE, most, 0, nothing, no_values)
        for number, item in enumerate(component.items):
            solver.addCol(0.0, 0.0, float(item.demand), 1, np.array([number]), np.ones(1))
        for group in range(component.groups):
            runs = [n for n in self.tight if component.kinds[n].group == group]
            rows = np.array([self._row[n] for n in runs], dtype=np.int32)
            opened = np.array([-float(component.kinds[n].supply) for n in runs])
            solver.addCol(0.0, 0.0, 1.0, len(runs), rows, opened)
        solver.addCol(0.0, 0.0, INFINITE, 0, nothing, no_values)

    @property
    def count(self) -> int:
        """How many patterns are known."""
        return len(self.uses)

    def add(self, uses: Iterable[Use]) -> list[int]:
        """Make patterns known; the numbers of those that were not."""
        fresh = [use for use in dict.fromkeys(uses) if use not in self.known]
        if not fresh:
            return []
        begin = self.count
        self._grow(begin + len(fresh))
        starts, rows, entries = [], list[int](), list[float]()
        for number, use in enumerate(fresh, begin):
            kind, cut = use
            self.known[use] = number
            self.kind_of[number] = kind
            one = costs(self.component, use)
            bought = self.bought[kind]
            self.charge[number, -6:] = one.cost, one.opened, one.waste, one.cuts, bought, -bought
            starts.append(len(rows))
            for item, copies in cut:
                self.matrix[number, item] = copies
                rows.append(item)
                entries.append(float(copies))
            if kind in self._row:
                rows.append(self._row[kind])
                entries.append(1.0)
            for level, row in self.level_row.items():
                if self.charge[number, level]:
                    rows.append(row)
                    entries.append(float(self.charge[number, level]))
        self.uses += fresh
        self.solver.addCols(
            len(fresh),
            self.charge[begin : self.count, self.aim].astype(float),
            np.zeros(len(fresh)),
            np.full(len(fresh), INFINITE),
            len(rows),
            np.array(starts, dtype=np.int32),
            np.array(rows, dtype=np.int32),
            np.array(entries),
        )
        return list(range(begin, self.count))

    def _grow(self, size: int) -> None:
        have = len(self.matrix)
        if size > have:
            more = max(size, 2 * have) - have
            self.matrix = np.vstack([self.matrix, np.zeros((more, self.matrix.shape[1]), np.int32)])
            self.kind_of = np.concatenate([self.kind_of, np.zeros(more, np.int64)])
            self.charge = np.vstack([self.charge, np.zeros((more, self.levels + 2), np.int64)])

    def first_charges(self, level: int) -> Numbers:
        """What unmet copies and opened pieces add to a level."""
        charges = np.zeros(self.first)
        if level < len(self.ranks):
            for number, item in enumerate(self.component.items):
                charges[number] = item.rank == self.ranks[level]
        elif level == self.levels - 3:
            charges[len(self.component.items) : -1] = 1.0
        elif level == self.levels - 4:
            charges[-1] = TOO_DEAR * max(
                (kind.cost / kind.room for kind in self.component.kinds), default=0.0
            )
        elif level == self.most:
            charges[-1] = -1.0
        return charges

    def aim_at(self, level: int) -> None:
        """Minimise this level from now on; parts are met exactly once waste is looked at."""
        self.aim = level
        everything = np.concatenate(
            [self.first_charges(level), self.charge[: self.count, level].astype(float)]
        )
        self.solver.changeColsCost(
            len(everything), np.arange(len(everything), dtype=np.int32), everything
        )
        if self.exact:
            self.restrict(self.demand, self.supply, self.kept, set())

    @property
    def exact(self) -> bool:
        """Whether patterns are judged by what they leave, so that nothing may be cut twice."""
        return self.aim >= self.levels - 2

    def keep(self, level: int, value: int) -> None:
        """From now on this level is no worse than `value`."""
        self.kept[level] = value
        charges = np.concatenate(
            [self.first_charges(level), self.charge[: self.count, level].astype(float)]
        )
        columns = np.nonzero(charges)[0].astype(np.int32)
        if level < len(self.ranks) and value == 0:
            zeros = np.zeros(len(columns))
            self.solver.changeColsBounds(len(columns), columns, zeros, zeros)
            return
        self.level_row[level] = self.solver.getNumRow()
        self.solver.addRow(-INFINITE, float(value), len(columns), columns, charges[columns])

    def buy(self, least: int | None, most: int | None) -> None:
        """From now on at least and at most so many mm of endless bins are begun; None: any."""
        for level, value in ((self.most, most), (self.least, None if least is None else -least)):
            if value is None:
                self.kept.pop(level, None)
            elif level in self.level_row:
                self.kept[level] = value
            else:
                self.keep(level, value)
            if level in self.level_row:
                upper = float(self.kept.get(level, INFINITE))
                self.solver.changeRowBounds(self.level_row[level], -INFINITE, upper)

    def restrict(
        self, demand: Counts, supply: Counts, kept: dict[int, int], opened: set[int]
    ) -> None:
        """Ask for these demands, supplies and levels only; patterns that exceed them rest.

        `opened` are the pieces of several runs that are begun already.
        """
        items = len(demand)
        lower = np.full(self.solver.getNumRow(), -INFINITE)
        lower[:items] = demand
        upper = np.full(len(lower), INFINITE)
        if self.exact:
            upper[:items] = demand
        for number, row in self._row.items():
            grouped = self.component.kinds[number].group is not None
            upper[row] = 0.0 if grouped else float(supply[number])
        for level, row in self.level_row.items():
            upper[row] = float(kept.get(level, INFINITE))
        rows = np.arange(len(lower), dtype=np.int32)
        self.solver.changeRowsBounds(len(rows), rows, lower, upper)
        fits = (self.matrix[: self.count] <= demand).all(axis=1)
        fits &= supply[self.kind_of[: self.count]] > 0
        groups = self.component.groups
        columns = np.arange(items, self.first + self.count, dtype=np.int32)
        low, high = np.zeros(len(columns)), np.ones(len(columns))
        low[list(opened)] = 1.0
        high[groups] = INFINITE
        high[groups + 1 :] = np.where(fits, INFINITE, 0.0)
        self.solver.changeColsBounds(len(columns), columns, low, high)

    def solve(self, seconds: float, *, grown: bool) -> bool:
        """Solve the linear programme; whether it was solved.

        `grown` says that only patterns were added since, so the last answer is still one and
        the primal simplex goes on from there; otherwise the dual mends it.
        """
        strategy = PRIMAL if grown else DUAL
        self.solver.setOptionValue("simplex_strategy", strategy)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.01, seconds))
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return False
        solution = self.solver.getSolution()
        self.amounts = np.array(solution.col_value)[self.first :]
        self.reduced = np.array(solution.col_dual)[self.first :]
        duals = np.array(solution.row_dual)
        items = len(self.component.items)
        self.item_duals: Numbers = duals[:items]
        self.kind_duals: Numbers = np.zeros(len(self.component.kinds))
        for number, row in self._row.items():
            self.kind_duals[number] = min(0.0, duals[row])
        self.level_duals = {
            level: min(0.0, duals[row])
            for level, row in self.level_row.items()
            if level in self.kept
        }
        self.objective = float(self.solver.getObjectiveValue())
        return True

    def whole(
        self, columns: Sequence[int], at_most: int, seconds: float
    ) -> tuple[list[tuple[Use, int]] | None, bool]:
        """A whole-number plan from these patterns, on the level aimed at `at_most` and the least.

        Says also whether these patterns were searched to the end. The limit is a row of its
        own: a plan to begin with would do as well, but with one HiGHS 1.16 has been seen to call
        a plan the best that was not (tests/external/test_cutting_stock.py found it).
        """
        solver = quiet()
        keep = np.zeros(self.first + self.count, dtype=bool)
        keep[: self.first] = True
        keep[self.first + np.array(columns, dtype=np.int64)] = True
        chosen = np.nonzero(keep)[0]
        part = part_of(self.solver.getLp(), chosen)
        solver.passModel(part)
        charges = np.array(part.col_cost_)
        charged = np.nonzero(charges)[0].astype(np.int32)
        solver.addRow(-INFINITE, float(at_most), len(charged), charged, charges[charged])
        solver.setOptionValue("time_limit", max(0.01, seconds))
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", 0.999)
        solver.run()
        status = solver.getModelStatus()
        proven = status in (
            highspy.HighsModelStatus.kOptimal,
            highspy.HighsModelStatus.kInfeasible,
        )
        values = np.rint(np.array(solver.getSolution().col_value))
        if len(values) != len(chosen) or not np.isfinite(solver.getInfo().objective_function_value):
            return None, proven
        uses = [
            (self.uses[column - self.first], int(count))
            for column, count in zip(chosen.tolist(), values.tolist(), strict=True)
            if column >= self.first and count > 0
        ]
        return uses, proven
