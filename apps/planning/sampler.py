"""Many runs of one plan, each with its own durations, all keeping the plan's order.

A run does what the plan says in the plan's order, inside everybody's hours:

- The crew takes one thing after the other as the plan has them, also sooner than planned. While
  one has to wait it gets on with the next that fits. Trades and tools keep the plan's order.
- A stint does the work the plan gives it; the last stint of an activity does what is left,
  through as many windows as that takes. Work that is done sooner leaves its later stints empty.
- Work in one stint begins where its planned length fits and is then seen through.
- Where the plan itself waits though nothing makes it wait, the run waits as well. An end that
  has to wait for something else keeps nobody and nothing busy meanwhile.
- Who comes by appointment (visits, trades, inspectors) never comes before the planned time.
- Agreed visits and booked inspections are facts: they happen at their time, ready or not.
- Longest waits are not mended by a run; it cannot know what comes.

With the planned durations a run is the plan, stint for stint, as far as its stints are firm.
All runs are worked out together: times are arrays of whole minutes, one entry a run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .problem import QUARTER_MINUTES, Interval, Link, Problem, Solution, Stint
from .run_crew import Crew
from .run_hours import NEVER
from .run_order import Arc, Order, Point, link_arc, order_of
from .run_setting import Setting, is_whole, planned_work

if TYPE_CHECKING:
    from .run_hours import Minutes


@dataclass(frozen=True, slots=True)
class Runs:
    """When things happened, run by run, in minutes from the origin; `NEVER` or later: not at all.

    Attributes:
        starts, ends: of whole activities, by key.
        ready: when all that an activity waits for by its links was done, so that it could
            have begun; what waits for nothing is not in it.
        stints: start and end of each planned stint; equal where nothing was left to do.
        planned: start and end of each activity in the plan, in quarter-hours.
        waits: minutes until which the plan keeps a stint (by number) waiting though nothing
            in its order does.
    """

    starts: dict[str, Minutes]
    ends: dict[str, Minutes]
    ready: dict[str, Minutes]
    stints: tuple[tuple[Stint, Minutes, Minutes], ...]
    planned: dict[str, Interval]
    waits: dict[int, int]


def run(problem: Problem, solution: Solution, work: Mapping[str, Minutes], runs: int) -> Runs:
    """Follow a plan with other durations.

    Args:
        work: minutes of work by activity, one for each run, each at least 1; an activity
            that is not in it takes what the plan gives it.

    Raises:
        ValueError: the plan breaks one of its own rules, so that it cannot be followed.
    """
    setting = Setting(problem)
    order = order_of(problem, solution, free=setting.hands)
    planned = _Follower(setting, order, {}, 1)
    planned.go(learn=True)
    follower = _Follower(setting, order, work, runs)
    follower.not_before = planned.not_before
    follower.go()
    return follower.runs()


class _Follower:
    def __init__(
        self, setting: Setting, order: Order, work: Mapping[str, Minutes], runs: int
    ) -> None:
        self.setting = setting
        self.order = order
        self.count = runs
        self.activities = setting.activities
        self.crew = Crew(runs, setting.crew_hours)
        self.planned: dict[int, int] = {}
        self.work = self._shares(work)
        self.until: dict[int, Minutes] = {}
        self.at: dict[Point, Minutes] = {}
        self.done: dict[str, Minutes] = {}
        self.not_before: dict[int, int] = {}
        for activity in setting.activities.values():
            if activity.fixed is not None and activity.key in order.of:
                (n,) = order.of[activity.key]
                for end in (False, True):
                    minutes = activity.fixed[end] * QUARTER_MINUTES
                    self.at[Point(n, end)] = np.full(runs, minutes, dtype=np.int64)
                self.done[activity.key] = self.at[Point(n, end=True)]

    def _shares(self, work: Mapping[str, Minutes]) -> dict[int, Minutes]:
        """The work of each stint: what the plan gives it, and all that is left to the last."""
        shares: dict[int, Minutes] = {}
        for key, own in self.order.of.items():
            activity = self.activities[key]
            sizes = [
                planned_work(activity, self.setting.windows[key], self.order.stints[n]) for n in own
            ]
            self.planned |= zip(own, sizes, strict=True)
            left = np.full(self.count, activity.effort * QUARTER_MINUTES, dtype=np.int64)
            if key in work:
                left = np.maximum(np.asarray(work[key], dtype=np.int64), 1)
            if activity.mode != "stints":
                # What is of one piece has its set-up and clear-up in it once.
                left = left + max(0, sum(sizes) - activity.effort) * QUARTER_MINUTES
            for n, size in zip(own[:-1], sizes[:-1], strict=True):
                shares[n] = np.minimum(left, size * QUARTER_MINUTES)
                left = left - shares[n]
            shares[own[-1]] = left
        return shares

    def go(self, *, learn: bool = False) -> None:
        """Give every point its time. `learn` notes where the plan waits of its own accord."""
        for point in self.order.points:
            if point.end:
                self._end(point, learn=learn)
            else:
                self._start(point, learn=learn)

    def _start(self, point: Point, *, learn: bool) -> None:
        n = point.stint
        stint = self.order.stints[n]
        ready = self._after(point)
        if n == self.order.of[stint.activity][0]:
            release = max((r.at for r in self.activities[stint.activity].releases), default=0)
            ready = np.maximum(ready, max(release, 0) * QUARTER_MINUTES)
        if stint.activity in self.setting.appointed:
            ready = np.maximum(ready, stint.start * QUARTER_MINUTES)
        if n in self.not_before:
            ready = np.maximum(ready, self.not_before[n])
        planned = stint.start * QUARTER_MINUTES
        crew = self.crew.copy() if learn else self.crew
        start, end = self._place(n, ready)
        if learn and start[0] > planned and stint.firm:
            raise ValueError(f"{stint.activity} cannot begin when the plan says")
        if learn and start[0] < planned:
            self.not_before[n] = planned
            self.crew = crew
            start, end = self._place(n, np.maximum(ready, planned))
        self.at[point], self.until[n] = start, end

    def _place(self, n: int, ready: Minutes) -> tuple[Minutes, Minutes]:
        """Start and end of a stint that may begin from `ready` on; both `ready` without work."""
        key = self.order.stints[n].activity
        activity, hours, work = self.activities[key], self.setting.hours[key], self.work[n]
        planned = self.planned[n] * QUARTER_MINUTES
        by_crew = not self.setting.hands.isdisjoint(activity.uses)
        if activity.mode == "elapsed" or (activity.mode == "stints" and is_whole(activity)):
            need = 1 if activity.mode == "elapsed" else planned
            if by_crew:
                return self.crew.whole(ready, work, need, hours)
            start = hours.begin(ready, need + hours.around)
            end = start + hours.around + work
        elif activity.mode == "carried_on":
            if by_crew:
                return self.crew.carried_on(ready, work, hours)
            start = hours.begin(ready, 1)
            end = hours.end(start, work, 0)
        else:
            least = min(activity.shortest_stint * QUARTER_MINUTES, planned)
            own = self.order.of[key]
            just_done = ready - 1 if n == own[0] else self.until[own[own.index(n) - 1]]
            if by_crew:
                return self.crew.pieces(ready, work, least, hours, just_done)
            start = hours.begin(ready, np.minimum(work, least) + hours.around)
            # Gone on without a break: nothing is set up a second time.
            end = hours.end(start, work, np.where(start == just_done, 0, hours.around))
        return np.where(work > 0, start, ready), np.where(work > 0, end, ready)

    def _end(self, point: Point, *, learn: bool) -> None:
        n = point.stint
        stint = self.order.stints[n]
        key, own = stint.activity, self.order.of[stint.activity]
        end, work = self.until[n], self.work[n]
        done = end if n == own[0] else np.where(work > 0, end, self.done[key])
        floor = self._after(point, links_only=True)
        if n == own[-1] and (late := floor > done).any():
            done = np.where(late, self.setting.hours[key].end_from(floor, work), done)
        planned_end = done if n == own[-1] else end
        if learn and stint.firm and planned_end[0] != stint.end * QUARTER_MINUTES:
            raise ValueError(f"{key} cannot end when the plan says")
        self.at[point], self.done[key] = end, done

    def _after(self, point: Point, *, links_only: bool = False) -> Minutes:
        """The latest of what a point waits for."""
        latest = np.zeros(self.count, dtype=np.int64)
        for arc in self.order.into.get(point, ()):
            if not (links_only and arc.since.stint == point.stint):
                latest = np.maximum(latest, self.time_after(arc))
        return latest

    def time_after(self, arc: Arc) -> Minutes:
        key = self.order.stints[arc.since.stint].activity
        since = self.done[key] if arc.whole else self.at[arc.since]
        if arc.working and self.setting.clock is not None:
            return self.setting.clock.later(since, arc.lag * QUARTER_MINUTES)
        return since + arc.lag * QUARTER_MINUTES

    def runs(self) -> Runs:
        order = self.order
        return Runs(
            starts={key: self.at[Point(own[0], end=False)] for key, own in order.of.items()},
            ends={key: self.done[key] for key in order.of},
            ready=self._ready(),
            stints=tuple(
                (stint, self.at[Point(n, end=False)], self.at[Point(n, end=True)])
                for n, stint in enumerate(order.stints)
            ),
            planned={
                key: (order.stints[own[0]].start, order.stints[own[-1]].end)
                for key, own in order.of.items()
            },
            waits=self.not_before,
        )

    def _ready(self) -> dict[str, Minutes]:
        """When all that an activity waits for was done, by its links."""
        ready: dict[str, Minutes] = {}
        for link in self.setting.problem.links:
            if link.after in self.order.of and link.before != link.after:
                at = self._link_time(link)
                ready[link.after] = np.maximum(ready[link.after], at) if link.after in ready else at
        return ready

    def _link_time(self, link: Link) -> Minutes:
        """The first start of the later activity that the link allows."""
        if link.before not in self.order.of:
            return np.full(self.count, NEVER, dtype=np.int64)
        arc = link_arc(link, self.order.of)
        at = self.time_after(arc)
        if not arc.to.end:
            return at
        return at - (
            self.done[link.after] - self.at[Point(self.order.of[link.after][0], end=False)]
        )
