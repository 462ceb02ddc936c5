"""Rules that cannot hold together, reduced to a set of which none can be spared.

Looked for where a plan leaves an outsider unready or a longest wait broken. First the network
of waits alone: a circle that cannot hold is the set. Otherwise hours count: the rules that hang
together are thinned by a deletion filter (Chinneck and Dravnieks 1991, from memory), in halves
first, then one by one. Each thinned question is judged by cheap certain signs, then by the
planner itself; where that does not decide, the rule stays and the set is not called smallest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from .bounds import free_windows, heads, impossible
from .complaints import Complaint
from .contradiction_rules import Rule, among, bound_together, only, rules_of
from .levels import UNPLACED, UNREADY, key
from .problem import Interval, Problem, Solution
from .search import first_plan
from .site import Site
from .solver import solve
from .temporal import impossible_circle, network
from .windows import NEVER, intersect, merge

# Effort for one thinned question, in the planner's own seconds, and how many it is asked.
SECONDS = 0.1
ASKED_AT_MOST = 16

Verdict = bool | None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Rules that cannot all hold.

    Attributes:
        rules: outsiders last; without any of them the rest can hold, if `smallest`.
        point: the moment before which work would have to be done, None if there is none.
        needed, available: quarter-hours of work and of hours before it, where the first is
            more than the second; else None.
    """

    rules: tuple[Rule, ...]
    smallest: bool
    point: int | None = None
    needed: int | None = None
    available: int | None = None


def contradictions(
    problem: Problem, solution: Solution, complaints: Sequence[Complaint], *, now: int = 0
) -> tuple[Contradiction, ...]:
    """The contradictions behind a plan's complaints, each once."""
    placed = {stint.activity for stint in solution.stints}
    left = [ASKED_AT_MOST]
    found: list[Contradiction] = []
    rest: list[frozenset[str]] = []
    for complaint in complaints:
        keys = bound_together(problem, [complaint.activity])
        if complaint.link is None or not keys <= placed:
            # What has no place is accounted for as such.
            continue
        made = Judge(among(problem, keys), now, left).smallest()
        if made is None:
            rest.append(keys)
        elif made not in found:
            found.append(made)
    fixed = [a.key for a in problem.activities if a.fixed is not None]
    together = bound_together(problem, fixed)
    if rest and not found and together <= placed and together not in rest:
        # Each could be made ready alone: do the outsiders stand in each other's way?
        made = Judge(among(problem, together), now, left).smallest()
        if made is not None:
            found.append(made)
    return tuple(found)


class Judge:
    """Says of thinned questions whether they can hold.

    `left` is how many more times the planner may be asked, shared by all judges of a plan.
    """

    def __init__(self, problem: Problem, now: int, left: list[int]) -> None:
        self.problem = problem
        self.now = now
        self.left = left

    def smallest(self) -> Contradiction | None:
        """The rules thinned to a contradiction; None where none is proven."""
        rules = rules_of(self.problem, now=self.now)
        circle = impossible_circle(network(self.problem, rules))
        if circle:
            on_it = {rule for edge in circle for rule in edge.rules}
            kept, sure = thinned([one for one in rules if one in on_it], self.in_time)
            return Contradiction(tuple(kept), sure)
        if self.can_hold(rules) is not False:
            return None
        kept, sure = thinned(rules, self.can_hold)
        return self._with_figures(Contradiction(tuple(kept), sure))

    def in_time(self, rules: Sequence[Rule]) -> Verdict:
        """Whether the waits and lengths alone can hold."""
        return not impossible_circle(network(self.problem, rules))

    def can_hold(self, rules: Sequence[Rule]) -> Verdict:
        """Whether all of it can be done in its hours; None where that stays undecided."""
        if not self.in_time(rules):
            return False
        asked = only(self.problem, rules, now=self.now)
        site = Site(asked)
        if key(first_plan(site))[UNPLACED : UNREADY + 1] == (0, 0):
            return True
        if _too_late(site) or self._overfull(asked, rules):
            return False
        if self.left[0] <= 0:
            return None
        self.left[0] -= 1
        made = solve(asked, deterministic_seconds=SECONDS)
        unplaced, unready = made.level("unplaced"), made.level("unready")
        if unplaced.value == 0 and unready.value == 0:
            return True
        if unplaced.bound > 0 or (unplaced.value == 0 and unready.bound > 0):
            return False
        return None

    def _overfull(self, asked: Problem, rules: Sequence[Rule]) -> bool:
        figures = self._with_figures(Contradiction(tuple(rules), smallest=False))
        return figures.needed is not None

    def _with_figures(self, found: Contradiction) -> Contradiction:
        """Work and hours before the outsider it is all for, where the work is more."""
        asked = only(self.problem, found.rules, now=self.now)
        site = Site(asked)
        for i, one in enumerate(asked.activities):
            if one.fixed is None:
                continue
            before = _ended_before(site, i) & set(site.movable)
            groups = [
                {j for j in before if r in site.uses[j]}
                for r, capacity in enumerate(site.capacity)
                if capacity == 1
            ]
            # One task alone needs its hours whoever does it.
            groups += [{j} for j in before]
            for group in groups:
                needed, available = _load(site, group, (self.now, one.fixed[0]))
                if needed > available:
                    return replace(found, point=one.fixed[0], needed=needed, available=available)
        return found


def _too_late(site: Site) -> bool:
    """Whether something cannot be in time even with everybody to itself."""
    first = heads(site, free_windows(site))
    if impossible(site, first):
        return True
    for tie in site.ties:
        if site.fixed(tie.after):
            since = first.end[tie.before] if tie.from_end else first.start[tie.before]
            start, end = site.activities[tie.after].fixed or (0, 0)
            if since < NEVER and tie.earliest_after(since) > (end if tie.to_end else start):
                return True
    return False


def _load(site: Site, group: set[int], stretch: Interval) -> tuple[int, int]:
    """Work of a group that one pair of hands must do in a stretch, and its hours there."""
    needed = sum(site.effort[i] + site.around[i] for i in group)
    begin = min((max(stretch[0], site.release[i]) for i in group), default=stretch[0])
    hours = merge(window for i in group for window in site.windows[i])
    available = sum(b - a for a, b in intersect(hours, [(begin, max(begin, stretch[1]))]))
    return needed, available


def _ended_before(site: Site, i: int) -> set[int]:
    """What must have ended before something starts: chains of FS links without leads."""
    seen: set[int] = set()
    stack = [i]
    while stack:
        for tie in site.into[stack.pop()]:
            ends_first = tie.from_end and not tie.to_end and tie.link.min_lag >= 0
            if ends_first and tie.before not in seen:
                seen.add(tie.before)
                stack.append(tie.before)
    return seen


def thinned(
    rules: Sequence[Rule], can_hold: Callable[[Sequence[Rule]], Verdict]
) -> tuple[list[Rule], bool]:
    """A contradictory set without what it can spare, and whether none can be spared for certain.

    Halves, quarters and so on are left out at a time, in the end single rules.
    """
    kept = list(rules)
    size = max(1, len(kept) // 2)
    sure = True
    while True:
        sure = True
        n = 0
        while n < len(kept):
            rest = kept[:n] + kept[n + size :]
            verdict = can_hold(rest) if rest else True
            if verdict is False:
                kept = rest
                continue
            sure = sure and verdict is True
            n += size
        if size == 1:
            return kept, sure
        size //= 2
