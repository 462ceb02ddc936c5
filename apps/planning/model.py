"""The problem as a constraint model (OR-Tools CP-SAT) on the wall-clock axis.

Every activity is a chain of as many stints as it could ever be cut into, most of them
usually absent. Breaks are fixed intervals in the `no_overlap` of whoever must respect them:
no holes in domains, no long tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from .bounds import Heads
from .draft import Draft
from .levels import shortage, soft
from .placing import carried_on
from .problem import Interval
from .site import Site, Tie
from .windows import Clock, complement, intersect, loaded_stretches, merge

Linear = cp_model.LinearExpr | int

# More stints than this per activity are not offered; the model then bounds nothing.
MOST_STINTS = 12


@dataclass(slots=True)
class Chain:
    """The variables of one movable activity: its stints in order and whether it is placed."""

    present: cp_model.IntVar
    starts: list[cp_model.IntVar] = field(default_factory=list)
    ends: list[cp_model.IntVar] = field(default_factory=list)
    works: list[Linear] = field(default_factory=list)
    here: list[cp_model.IntVar] = field(default_factory=list)
    intervals: list[cp_model.IntervalVar] = field(default_factory=list)


class Model:
    """Builds the model once; `solver.py` asks it for one level after the other."""

    def __init__(self, site: Site, first: Heads, lost: frozenset[int], *, certain: bool) -> None:
        self.site = site
        self.first = first
        self.certain = certain
        self.exact = True
        self.cp = cp_model.CpModel()
        self.one = self.cp.new_constant(1)
        self.pieces = frozenset(i for i, a in enumerate(site.activities) if a.mode != "stints")
        self.chains: dict[int, Chain] = {}
        for i in site.movable:
            if i not in lost:
                self.chains[i] = self._chain(i)
        self.stints = sum(len(chain.here) for chain in self.chains.values())
        self._resources()
        self._calendars()
        self.done: dict[tuple[int, int], cp_model.IntVar] = {}
        self.kept: dict[int, cp_model.IntVar] = {}
        self.shorts: list[tuple[Tie, cp_model.IntVar]] = []
        for tie in site.ties:
            self._tie(tie)
        for s in range(len(site.spans)):
            self._span(s)
        self.levels = self._levels(lost)

    # Points in time ------------------------------------------------------------------

    def _point(self, i: int, *, end: bool) -> Linear:
        fixed = self.site.activities[i].fixed
        if fixed is not None:
            return fixed[1] if end else fixed[0]
        chain = self.chains[i]
        return chain.ends[-1] if end else chain.starts[0]

    def _chain(self, i: int) -> Chain:
        site, cp = self.site, self.cp
        effort, least, around = site.effort[i], site.least[i], site.around[i]
        low, high = self.first.start[i], site.horizon
        most = effort // least
        if most > MOST_STINTS:
            most = MOST_STINTS
            self.exact = False
        present = self.one if self.certain else cp.new_bool_var(f"placed {i}")
        if site.activities[i].mode != "stints":
            return self._piece(i, present)
        chain = Chain(present)
        for k in range(most):
            here = present if k == 0 else cp.new_bool_var(f"here {i}.{k}")
            start = cp.new_int_var(low, high, f"start {i}.{k}")
            end = cp.new_int_var(low, high, f"end {i}.{k}")
            if most == 1:
                work: Linear = effort
                span = cp.new_optional_interval_var(start, effort + around, end, here, f"{i}")
            else:
                work = cp.new_int_var(0, effort, f"work {i}.{k}")
                cp.add(work >= least).only_enforce_if(here)
                cp.add(work == 0).only_enforce_if(~here)
                size = work + around
                span = cp.new_optional_interval_var(start, size, end, here, f"{i}.{k}")
            if k:
                cp.add_implication(here, chain.here[-1])
                # Touching stints would be one stint.
                cp.add(start > chain.ends[-1]).only_enforce_if(here)
                cp.add(end == chain.ends[-1]).only_enforce_if(~here)
                cp.add(start == chain.ends[-1]).only_enforce_if(~here)
            chain.starts.append(start)
            chain.ends.append(end)
            chain.works.append(work)
            chain.here.append(here)
            chain.intervals.append(span)
        if most > 1:
            cp.add(sum(chain.works) == effort).only_enforce_if(present)
        cp.add(chain.ends[-1] >= self.first.end[i]).only_enforce_if(present)
        if site.within[i] is not None and most > 1:
            self._in_one_window(i, chain)
        return chain

    def _piece(self, i: int, present: cp_model.IntVar) -> Chain:
        """Carried-on or elapsed work: one interval, its breaks inside it."""
        site, cp, effort = self.site, self.cp, self.site.effort[i]
        windows = intersect(site.windows[i], [(self.first.start[i], site.horizon)])
        begins = cp_model.Domain.from_intervals([[a, b - 1] for a, b in windows])
        start = cp.new_int_var_from_domain(begins, f"start {i}")
        end = cp.new_int_var(0, site.horizon, f"end {i}")
        if site.activities[i].mode == "elapsed":
            size: Linear = effort
        else:
            size = cp.new_int_var(effort, site.horizon, f"size {i}")
            ends = cp_model.Domain.from_intervals([[a + 1, b] for a, b in windows])
            cp.add_linear_expression_in_domain(end, ends).only_enforce_if(present)
            clock = site.own_clock[i]
            worked = self._reading(clock, end) - self._reading(clock, start)
            cp.add(worked == effort).only_enforce_if(present)
        span = cp.new_optional_interval_var(start, size, end, present, f"piece {i}")
        chain = Chain(present, [start], [end], [effort], [present], [span])
        if site.activities[i].mode == "carried_on" and site.within[i] is not None:
            self._in_one_window(i, chain)
        return chain

    def _in_one_window(self, i: int, chain: Chain) -> None:
        """All of it in one window of the calendar that it must be within."""
        cp, within = self.cp, self.site.within[i]
        choices = []
        for opens, closes in () if within is None else within.windows:
            here = cp.new_bool_var(f"within {i}")
            cp.add(chain.starts[0] >= opens).only_enforce_if(here)
            cp.add(chain.ends[-1] <= closes).only_enforce_if(here)
            choices.append(here)
        cp.add_bool_or([*choices, ~chain.present])

    def _held(self, r: int) -> list[tuple[cp_model.IntervalVar, int]]:
        """Stretches over which a resource is held on the wall clock."""
        cp = self.cp
        held: list[tuple[cp_model.IntervalVar, int]] = []
        for i, chain in self.chains.items():
            for resource, least, units in self.site.holds[i]:
                if resource == r:
                    most = self.site.horizon + least
                    until = cp.new_int_var(0, most, f"held until {i}")
                    size = cp.new_int_var(least, most, f"held {i}")
                    cp.add(until >= chain.ends[-1]).only_enforce_if(chain.present)
                    start, here = chain.starts[0], chain.present
                    span = cp.new_optional_interval_var(start, size, until, here, f"hold {i}")
                    held.append((span, units))
        return held

    # Resources and hours -------------------------------------------------------------

    def _resources(self) -> None:
        site, cp = self.site, self.cp
        for r, capacity in enumerate(site.capacity):
            users = [i for i in self.chains if r in site.uses[i]]
            held = self._held(r)
            if not users and not held:
                continue
            facts = Draft(site).busy(r)
            stints = [
                (span, site.demand[i][site.uses[i].index(r)])
                for i in users
                for span in self.chains[i].intervals
            ]
            stints += held
            if capacity == 1:
                fixed = [(start, end) for start, end, _ in facts]
                cut = [i for i in users if i not in self.pieces]
                if cut:
                    broken = merge([*self._breaks(cut), *fixed])
                    spans = [span for i in cut for span in self.chains[i].intervals]
                    cp.add_no_overlap([*spans, *self._facts(broken)])
                if held or len(cut) < len(users):
                    cp.add_no_overlap([*(s for s, _ in stints), *self._facts(merge(fixed))])
            elif sum(n for _, n in stints) + sum(n for _, _, n in facts) > capacity:
                for level in range(1, capacity + 1):
                    stints += [(s, 1) for s in self._facts(loaded_stretches(facts, level))]
                cp.add_cumulative([s for s, _ in stints], [n for _, n in stints], capacity)

    def _facts(self, stretches: Sequence[Interval]) -> list[cp_model.IntervalVar]:
        return [
            self.cp.new_fixed_size_interval_var(start, end - start, f"fact {start}")
            for start, end in stretches
            if end > start
        ]

    def _breaks(self, members: Sequence[int]) -> list[Interval]:
        """Breaks that all the members share."""
        windows = merge(window for i in members for window in self.site.windows[i])
        return complement(windows, 0, self.site.horizon)

    def _calendars(self) -> None:
        """One `no_overlap` per set of hours and common resource, beside the resource's own."""
        site, cp = self.site, self.cp
        cut = [i for i in self.chains if i not in self.pieces]
        shared = {
            r: self._breaks([i for i in cut if r in site.uses[i]])
            for r, capacity in enumerate(site.capacity)
            if capacity == 1 and any(r in site.uses[i] for i in cut)
        }
        groups: dict[tuple[int, int, tuple[Interval, ...]], list[int]] = {}
        for i in cut:
            single = next((r for r in site.uses[i] if r in shared), None)
            own = complement(site.windows[i], 0, site.horizon)
            if single is None:
                if own:
                    groups.setdefault((-1, i, tuple(own)), []).append(i)
            elif own != shared[single]:
                groups.setdefault((single, -1, tuple(own)), []).append(i)
        for (_, _, breaks), members in groups.items():
            stints = [span for i in members for span in self.chains[i].intervals]
            cp.add_no_overlap([*stints, *self._facts(breaks)])

    # Links and open spans ------------------------------------------------------------

    def _reading(self, clock: Clock, point: Linear) -> Linear:
        """The working quarters before a point, as a piecewise linear function of it."""
        if isinstance(point, int):
            return clock.reading(point)
        cp, horizon = self.cp, self.site.horizon
        reading = cp.new_int_var(0, clock.reading(horizon), "reading")
        pieces = []
        windows = intersect(clock.windows, [(0, horizon)])
        stretches = [(window, 1) for window in windows]
        stretches += [(gap, 0) for gap in complement(windows, 0, horizon)]
        for (start, end), slope in sorted(stretches):
            inside = cp.new_bool_var("inside")
            cp.add_linear_constraint(point, start, end).only_enforce_if(inside)
            cp.add(reading == clock.reading(start) + slope * (point - start)).only_enforce_if(
                inside
            )
            pieces.append(inside)
        cp.add_exactly_one(pieces)
        return reading

    def _tie(self, tie: Tie) -> None:
        site, cp = self.site, self.cp
        binding = site.binding(tie)
        ends = [i for i in (tie.before, tie.after) if not site.fixed(i)]
        if any(i not in self.chains for i in ends) or not ends:
            return
        here = [self.chains[i].present for i in ends] if not self.certain else []
        if not self.certain and len(ends) == 2:
            cp.add_implication(self.chains[tie.after].present, self.chains[tie.before].present)
        since = self._point(tie.before, end=tie.from_end)
        until = self._point(tie.after, end=tie.to_end)
        lag, most = tie.link.min_lag, tie.link.max_lag
        wait: Linear = until - since
        if tie.clock is not None and (lag != 0 or most is not None or not binding):
            wait = self._reading(tie.clock, until) - self._reading(tie.clock, since)
        if binding:
            if tie.clock is not None and lag >= 0:
                cp.add(until >= since).only_enforce_if(here)
            if lag != 0 or tie.clock is None:
                cp.add(wait >= lag).only_enforce_if(here)
        if not binding or most is not None:
            short = cp.new_int_var(0, 4 * site.horizon, "short")
            if not binding:
                cp.add(short >= lag - wait).only_enforce_if(here)
                if tie.clock is not None and lag >= 0:
                    self._out_of_order(tie, short, since, until, here)
            if most is not None:
                cp.add(short >= wait - most).only_enforce_if(here)
            if isinstance(until, int) and not self.certain:
                never = lag - tie.wait(max(site.horizon, until), until)
                cp.add(short >= never).only_enforce_if([~literal for literal in here])
            self.shorts.append((tie, short))

    def _out_of_order(
        self, tie: Tie, short: cp_model.IntVar, since: Linear, until: Linear, here: Sequence[object]
    ) -> None:
        """Out of order counts as one quarter even where no working time lies between."""
        cp = self.cp
        late = cp.new_bool_var("out of order")
        cp.add(until >= since).only_enforce_if([*here, ~late])
        cp.add(short >= tie.link.min_lag + 1).only_enforce_if(late)

    def _span(self, s: int) -> None:
        site, cp = self.site, self.cp
        span = site.spans[s]
        opened, closed = span.opens, span.closes
        if opened is not None and not site.fixed(opened) and opened not in self.chains:
            return
        opens: Linear = 0 if opened is None else self._point(opened, end=False)
        never = closed is not None and not site.fixed(closed) and closed not in self.chains
        closes: Linear | None = None
        if closed is not None and not never:
            closes = self._point(closed, end=True)
        facts = opened is None or site.fixed(opened)
        conditions: list[cp_model.IntVar] = []
        if opened is not None and not facts:
            conditions.append(self.chains[opened].present)
        empty: list[cp_model.IntVar] = []
        if closes is not None and opened is not None:
            nothing = self._closing(closed, f"span {s} is empty")
            cp.add(opens >= closes).only_enforce_if(nothing)
            empty.append(nothing)
        for i in sorted(span.excludes):
            stints: list[tuple[Linear, Linear, cp_model.IntVar]] = []
            if i in self.chains:
                chain = self.chains[i]
                stints += zip(chain.starts, chain.ends, chain.here, strict=True)
            elif (fixed := site.activities[i].fixed) is not None and not facts:
                stints.append((*fixed, self.one))
            for start, end, here in stints:
                choices = list(empty)
                if opened is not None:
                    before = cp.new_bool_var("before it opens")
                    cp.add(end <= opens).only_enforce_if(before)
                    choices.append(before)
                if closes is not None:
                    after = self._closing(closed, "after it closes")
                    cp.add(start >= closes).only_enforce_if(after)
                    choices.append(after)
                cp.add_bool_or([*choices, ~here, *(~c for c in conditions)])

    def _closing(self, closed: int | None, name: str) -> cp_model.IntVar:
        """A choice that counts on boards being closed: what has no place closes nothing."""
        choice = self.cp.new_bool_var(name)
        if closed in self.chains and not self.certain:
            self.cp.add_implication(choice, self.chains[closed].present)
        return choice

    # Levels --------------------------------------------------------------------------

    def _levels(self, lost: frozenset[int]) -> list[Linear]:
        site, cp = self.site, self.cp
        empty = Draft(site)
        effort = [activity.effort for activity in site.activities]
        unplaced: Linear = sum(effort[i] for i in sorted(lost)) + sum(
            effort[i] * (1 - chain.present) for i, chain in self.chains.items()
        )
        late_terms: list[Linear] = []
        for i, activity in enumerate(site.activities):
            if activity.due is None or i in lost:
                continue
            end = self._point(i, end=True)
            if isinstance(end, int):
                late_terms.append(activity.due_weight * max(0, end - activity.due))
                continue
            late = cp.new_int_var(0, site.horizon, f"late {i}")
            cp.add(late >= end - activity.due).only_enforce_if(self.chains[i].present)
            late_terms.append(activity.due_weight * late)
        finish = cp.new_int_var(0, site.horizon, "finish")
        for chain in self.chains.values():
            cp.add(finish >= chain.ends[-1]).only_enforce_if(chain.present)
        modelled = {id(tie) for tie, _ in self.shorts}
        constant = sum(
            shortage(empty, tie)
            for tie in site.ties
            if soft(tie, empty) and id(tie) not in modelled
        )
        unready = constant + sum(short for _, short in self.shorts)
        breaks = sum(here for chain in self.chains.values() for here in chain.here[1:])
        moves = self._moves()
        return [
            unplaced,
            unready,
            sum(late_terms),
            sum(move for i, move in moves.items() if i in site.settled),
            finish,
            self._open_nights(),
            breaks,
            sum(moves.values()),
        ]

    def _moves(self) -> dict[int, Linear]:
        """For all that the previous plan began: 1 if it begins elsewhere or has no place."""
        moves: dict[int, Linear] = {}
        for i, (first, last) in self.site.was.items():
            moves[i] = 1
            chain = self.chains.get(i)
            if chain is not None:
                kept = self.cp.new_bool_var(f"kept {i}")
                self.cp.add_implication(kept, chain.present)
                self.cp.add_linear_constraint(chain.starts[0], first, last - 1).only_enforce_if(
                    kept
                )
                self.kept[i] = kept
                moves[i] = 1 - kept
        return moves

    def _done(self, i: int, night: int) -> cp_model.IntVar | bool:
        """Whether something has ended by a night."""
        if i not in self.chains:
            fixed = self.site.activities[i].fixed
            return fixed is not None and fixed[1] <= night
        if self.first.end[i] > night:
            return False
        known = self.done.get((i, night))
        if known is None:
            chain = self.chains[i]
            known = self.done[i, night] = self.cp.new_bool_var(f"done {i} by {night}")
            self.cp.add_implication(known, chain.present)
            self.cp.add(chain.ends[-1] <= night).only_enforce_if(known)
            self.cp.add(chain.ends[-1] > night).only_enforce_if([~known, chain.present])
        return known

    def _open_nights(self) -> Linear:
        """Nights on which some opening over a household route is open."""
        count: list[Linear] = []
        for night in self.site.problem.nights if self.site.openings else ():
            choices: list[list[cp_model.LiteralT]] = []
            for opens, closes in self.site.openings:
                up = True if opens is None else self._done(opens, night)
                down = False if closes is None else self._done(closes, night)
                if up is False or down is True:
                    continue
                shut: list[cp_model.LiteralT] = [] if isinstance(up, bool) else [~up]
                choices.append(shut if isinstance(down, bool) else [*shut, down])
            if [] in choices:
                count.append(1)
            elif choices:
                is_open = self.cp.new_bool_var(f"open at {night}")
                for shut in choices:
                    self.cp.add_bool_or(is_open, *shut)
                count.append(is_open)
        return sum(count)

    # Plans in and out ----------------------------------------------------------------

    def with_hint(self, draft: Draft) -> cp_model.CpModel:
        """A copy of the model that starts from a plan, complete down to absent stints."""
        cp = self.cp.clone()
        for i, chain in self.chains.items():
            stints = draft.stints[i] or []
            if not self.certain:
                cp.add_hint(chain.present, bool(stints))
            at = self.first.start[i]
            if stints and i in self.pieces:
                stints = [(stints[0][0], stints[-1][1])]
            for k, (start, end) in enumerate(zip(chain.starts, chain.ends, strict=True)):
                inside = k < len(stints)
                opens, at = stints[k] if inside else (at, at)
                cp.add_hint(start, opens)
                cp.add_hint(end, at)
                if k:
                    cp.add_hint(chain.here[k], inside)
                work = chain.works[k]
                if isinstance(work, cp_model.IntVar):
                    cp.add_hint(work, at - opens - self.site.around[i] if inside else 0)
        return cp

    def read(self, solver: cp_model.CpSolver) -> Draft:
        """The plan in the solver's answer."""
        draft = Draft(self.site)
        for i, chain in self.chains.items():
            stints = [
                (solver.value(start), solver.value(end))
                for start, end, here in zip(chain.starts, chain.ends, chain.here, strict=True)
                if solver.value(here)
            ]
            if stints and i in self.site.own_clock:
                stints = carried_on(self.site, i, stints[0][0]) or stints
            if stints:
                draft.put(i, stints)
        return draft
