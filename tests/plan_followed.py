"""One run of a plan with other durations, minute by minute: slow, plain, written from the words
of `apps/planning/sampler.py` alone.

Times are minutes from the origin; what finds no place in the plan's days happens `NEVER`.
"""

from __future__ import annotations

from collections.abc import Mapping

from apps.planning.problem import Activity, Problem, Solution

NEVER = 10**9


class Followed:
    """`starts` and `ends` of activities, after `go()`.

    `waits`: until when the plan keeps a stint waiting of its own accord, by activity and number.
    `hours`: where a house's hours are kept from one run of it to the next; empty at first.
    """

    def __init__(
        self,
        problem: Problem,
        solution: Solution,
        work: Mapping[str, int],
        waits: Mapping[tuple[str, int], int],
        hours: dict[str, list[tuple[int, int]]],
    ) -> None:
        self.problem = problem
        self.work = work
        self.waits = waits
        self.activities = {a.key: a for a in problem.activities}
        self.plan: dict[str, list[tuple[int, int]]] = {}
        for stint in sorted(solution.stints, key=lambda s: s.start):
            self.plan.setdefault(stint.activity, []).append((stint.start * 15, stint.end * 15))
        self.minutes = problem.horizon * 15
        self.crew_free = [True] * self.minutes
        self.facts = {key: self.taken_by_facts(key) for key in ("crew", "saw", "plumber")}
        self.done: dict[tuple[str, int], tuple[int, int]] = {}
        self.hours = hours

    def go(self) -> None:
        rows = [
            (stint, key, k) for key, stints in self.plan.items() for k, stint in enumerate(stints)
        ]
        for _, key, k in sorted(rows):
            self.stint(key, k)
        self.starts = {key: self.start(key) for key in self.plan}
        self.ends = {key: self.end(key) for key in self.plan}

    # What is fixed -------------------------------------------------------------------

    def taken_by_facts(self, resource: str) -> set[int]:
        (capacity,) = [r.capacity for r in self.problem.resources if r.key == resource]
        count: dict[int, int] = {}
        for a in self.problem.activities:
            if a.fixed and resource in a.uses:
                for minute in range(a.fixed[0] * 15, a.fixed[1] * 15):
                    count[minute] = count.get(minute, 0) + 1
        return {minute for minute, n in count.items() if n >= capacity}

    def windows(self, a: Activity) -> list[tuple[int, int]]:
        """Its hours in which a stint can be at all."""
        if a.key not in self.hours:
            self.hours[a.key] = self.open_hours(a)
        return self.hours[a.key]

    def open_hours(self, a: Activity) -> list[tuple[int, int]]:
        is_open = [True] * self.minutes
        for calendar in self.problem.calendars:
            if calendar.key in a.calendars:
                inside = {m for x, y in calendar.windows for m in range(x * 15, y * 15)}
                is_open = [was and m in inside for m, was in enumerate(is_open)]
        for resource in a.uses:
            for minute in self.facts[resource]:
                if 0 <= minute < self.minutes:
                    is_open[minute] = False
        found, since = [], None
        for minute in range(self.minutes + 1):
            now = minute < self.minutes and is_open[minute]
            if now and since is None:
                since = minute
            if not now and since is not None:
                found.append((since, minute))
                since = None
        least = 15 if self.whole(a) else a.shortest_stint * 15
        around = (a.set_up + a.clear_up) * 15
        return [(x, y) for x, y in found if y - x >= least + around]

    def whole(self, a: Activity) -> bool:
        return not a.splittable or a.effort < 2 * a.shortest_stint

    # When things are -----------------------------------------------------------------

    def start(self, key: str) -> int:
        return self.activities[key].fixed[0] * 15 if self.fixed(key) else self.stint(key, 0)[0]

    def end(self, key: str) -> int:
        if self.fixed(key):
            return self.activities[key].fixed[1] * 15
        natural = max(
            self.stint(key, k)[1]
            for k in range(len(self.plan[key]))
            if k == 0 or self.share(key, k) > 0
        )
        floor = max(
            (self.link_time(x) for x in self.links(key) if x.kind in {"FF", "SF"}), default=0
        )
        if floor <= natural:
            return natural
        a = self.activities[key]
        shortest = min(
            self.share(key, len(self.plan[key]) - 1), 15 if self.whole(a) else a.shortest_stint * 15
        )
        for opens, closes in self.windows(a):
            if closes >= floor:
                return max(floor, opens + (a.set_up + a.clear_up) * 15 + shortest)
        return NEVER

    def fixed(self, key: str) -> bool:
        return self.activities[key].fixed is not None

    def links(self, key: str) -> list:
        return [
            x
            for x in self.problem.links
            if x.after == key and x.before in self.plan and x.before != key
        ]

    def link_time(self, link) -> int:
        since = self.end(link.before) if link.kind in {"FS", "FF"} else self.start(link.before)
        lag = link.min_lag * 15
        if since >= NEVER:
            return NEVER
        if link.clock == "elapsed" or not lag:
            return since + lag
        calendar = next(c for c in self.problem.calendars if c.key == self.problem.working_calendar)
        working = {m for x, y in calendar.windows for m in range(x * 15, y * 15)}
        for minute in range(since, self.minutes):
            lag -= minute in working
            if lag == 0:
                return minute + 1
        return NEVER

    def planned_work(self, key: str, k: int) -> int:
        a = self.activities[key]
        start, end = self.plan[key][k]
        return end - start - (a.set_up + a.clear_up) * 15

    def share(self, key: str, k: int) -> int:
        total = self.work.get(key, self.activities[key].effort * 15)
        earlier = sum(self.planned_work(key, n) for n in range(k))
        left = max(0, total - earlier)
        return left if k == len(self.plan[key]) - 1 else min(left, self.planned_work(key, k))

    def ready(self, key: str, k: int) -> int:
        a = self.activities[key]
        planned = self.plan[key][k][0]
        times = [0, self.waits.get((key, k), 0)]
        if k:
            times.append(self.stint(key, k - 1)[1])
        else:
            times += [r.at * 15 for r in a.releases]
            times += [self.link_time(x) for x in self.links(key) if x.kind in {"FS", "SS"}]
        if "plumber" in a.uses:
            times.append(planned)
        times += self.handed_over(a, key, k)
        times += self.boards(key, k)
        return max(times)

    def handed_over(self, a: Activity, key: str, k: int) -> list[int]:
        """Tools and trades pass from stint to stint, each unit in the plan's order."""
        times = []
        for resource in self.problem.resources:
            if resource.key not in a.uses or resource.key == "crew":
                continue
            units: list[tuple[int, tuple[str, int] | None]] = [(-NEVER, None)] * resource.capacity
            users = sorted(
                (stint, other, n)
                for other, stints in self.plan.items()
                if resource.key in self.activities[other].uses
                for n, stint in enumerate(stints)
            )
            for (start, end), other, n in users:
                free = [u for u in range(len(units)) if units[u][0] <= start]
                if free:
                    unit = max(free, key=lambda u: units[u][0])
                    if (other, n) == (key, k) and (before := units[unit][1]) is not None:
                        times.append(self.stint(*before)[1])
                    units[unit] = (end, (other, n))
        return times

    def boards(self, key: str, k: int) -> list[int]:
        times = []
        planned = self.plan[key][k]
        for span in self.problem.open_spans:
            if span.opens is not None and span.opens not in self.plan:
                continue
            opens = self.plan[span.opens][0][0] if span.opens else None
            closes = self.plan[span.closes][-1][1] if span.closes in self.plan else None
            if opens is not None and closes is not None and closes <= opens:
                continue
            if key in span.excludes and closes is not None and planned[0] >= closes:
                times.append(self.end(span.closes))
            if key == span.opens and k == 0:
                for other in span.excludes:
                    for n, (_, end) in enumerate(self.plan.get(other, [])):
                        if end <= opens and not (
                            closes is not None and self.plan[other][n][0] >= closes
                        ):
                            times.append(self.stint(other, n)[1])
        return times

    def stint(self, key: str, k: int) -> tuple[int, int]:
        if self.fixed(key):
            return self.start(key), self.end(key)
        if (key, k) not in self.done:
            self.done[key, k] = self.place(key, k)
        return self.done[key, k]

    def place(self, key: str, k: int) -> tuple[int, int]:
        a, ready, work = self.activities[key], self.ready(key, k), self.share(key, k)
        if not work:
            return ready, ready
        crew = "crew" in a.uses
        around = (a.set_up + a.clear_up) * 15
        windows = self.windows(a)
        if self.whole(a):
            need = self.planned_work(key, k) + around
            for opens, closes in windows:
                for at in range(max(opens, ready), closes - need + 1):
                    if not crew or self.free(at, at + around + work):
                        return at, self.take(at, at + around + work, crew=crew)
            return NEVER, NEVER
        least = min(a.shortest_stint * 15, self.planned_work(key, k))
        last = self.stint(key, k - 1)[1] if k else None
        start = None
        since = ready
        while work:
            need = min(work, least) + around if crew or start is None else 1 + around
            at, closes = next(
                (
                    (at, closes)
                    for opens, closes in windows
                    for at in range(max(opens, since), closes - need + 1)
                    if not crew or self.free(at, at + need)
                ),
                (NEVER, NEVER),
            )
            if at == NEVER:
                return (NEVER if start is None else start), NEVER
            extra = 0 if at == last else around
            until = at + extra
            while work and until < closes and (not crew or self.free(until, until + 1)):
                until, work = until + 1, work - 1
            start = at if start is None else start
            since = last = self.take(at, until, crew=crew)
        return start, since

    def free(self, start: int, end: int) -> bool:
        return all(self.crew_free[m] for m in range(start, min(end, self.minutes)))

    def take(self, start: int, end: int, *, crew: bool) -> int:
        if crew:
            for minute in range(start, min(end, self.minutes)):
                self.crew_free[minute] = False
        return end
