"""Seeded houses of the house-year layout, of any size; each is known to have a plan.

The house is made along a plan of its own: tasks are put down one after another where they fit,
and every rule is drawn from what that plan already keeps. The plan's starts come with it.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from typing import Any

DAY, WEEK = 48, 336
VISIT_HOURS = (16, 32)
EVENING, WEEKEND = (36, 40), (18, 32)
LENGTHS = (1, 1, 2, 2, 2, 3, 4, 4, 4, 6, 8, 8, 10, 14)
TRADES = 4
HELD = 144


def house_year(seed: int, *, tasks: int, weeks: int, load: float = 0.72) -> tuple[Any, list[int]]:
    """A house and the starts of a plan that keeps its rules, `load` of the hours being work."""
    return _Maker(random.Random(seed), tasks, weeks, load).made()


class _Maker:
    def __init__(self, chance: random.Random, tasks: int, weeks: int, load: float) -> None:
        self.chance, self.days = chance, weeks * 7
        self.slots = [
            (day * DAY + begin, day * DAY + end)
            for day in range(self.days)
            for begin, end in (WEEKEND if day % 7 >= 5 else EVENING,)
        ]
        self.units = [unit for begin, end in self.slots for unit in range(begin, end)]
        self.slot_of = {unit: n for n, slot in enumerate(self.slots) for unit in range(*slot)}
        self.trade_days = {
            f"trade{n}": sorted(chance.sample(range(self.days), max(2, self.days // 4)))
            for n in range(TRADES)
        }
        wanted = load * len(self.units)
        self.scale = wanted / (tasks * sum(LENGTHS) / len(LENGTHS))
        self.rooms = [range(first, min(first + 20, tasks)) for first in range(0, tasks, 20)]
        self.tasks: dict[int, dict[str, Any]] = {}
        self.spans: dict[int, tuple[int, int]] = {}
        self.visits: dict[str, int] = {}
        self.now = 0  # the next working unit of the crew, counted

    def made(self) -> tuple[Any, list[int]]:
        chance = self.chance
        links = []
        waiting = {n: list(room) for n, room in enumerate(self.rooms)}
        active = list(waiting)[:3]
        while active:  # three rooms at a time, one task of one of them after another
            room = chance.choice(active)
            one = waiting[room].pop(0)
            before = [k for k in self.rooms[room] if k in self.spans and k >= one - 5]
            chosen = chance.sample(before, min(len(before), chance.choice((1, 1, 2))))
            lags = [(k, chance.choice((0,) * 5 + (24, 48))) for k in chosen]
            self._put(one, max((self.spans[k][1] + lag for k, lag in lags), default=0))
            for k, lag in lags:
                link = {"before": k, "after": one, "min_lag": lag}
                wait = self.spans[one][0] - self.spans[k][1]
                if chance.random() < 0.06:
                    link["max_lag"] = max(2 * WEEK, wait)
                links.append(link)
            if not waiting[room]:
                active.remove(room)
                active += [n for n in waiting if len(waiting[n]) == len(self.rooms[n])][:1]
                active = list(dict.fromkeys(active))
        self._dates()
        ids = sorted(self.tasks)
        house = {
            "unit_minutes": 30,
            "units_a_day": DAY,
            "horizon": self.days * DAY,
            "crew_slots": [list(slot) for slot in self.slots],
            "trade_days": self.trade_days,
            "visit_hours": list(VISIT_HOURS),
            "tasks": [self.tasks[one] for one in ids],
            "links": links,
            "open_floors": self._floors(),
            "jack": {"tasks": self._jacked(), "held_units": HELD},
        }
        return house, [self.spans[one][0] for one in ids]

    def _put(self, one: int, ready: int) -> None:
        chance = self.chance
        if chance.random() < 0.08:
            trade = f"trade{chance.randrange(TRADES)}"
            units = chance.choice((4, 6, 8, 12, 16))
            at = max(ready, self.visits.get(trade, 0))
            for day in self.trade_days[trade]:
                start = max(day * DAY + VISIT_HOURS[0], at)
                if start + units <= day * DAY + VISIT_HOURS[1]:
                    self.visits[trade] = start + units
                    self.tasks[one] = {"id": one, "by": trade, "units": units}
                    self.spans[one] = start, start + units
                    return
        units = max(1, round(chance.choice(LENGTHS) * self.scale))
        first = max(self.now, bisect_left(self.units, ready))
        task: dict[str, Any] = {"id": one, "by": "crew", "units": units}
        if chance.random() < 0.12 and units <= 2 * (WEEKEND[1] - WEEKEND[0]):
            task["one_weekend"] = True
            while not self._one_weekend(first, units):
                first += 1
        elif chance.random() < 0.2 and units <= EVENING[1] - EVENING[0]:
            task["unbroken"] = True
            while self.slot_of[self.units[first]] != self.slot_of[self.units[first + units - 1]]:
                first += 1
        self.tasks[one] = task
        self.spans[one] = self.units[first], self.units[first + units - 1] + 1
        self.now = first + units

    def _one_weekend(self, first: int, units: int) -> bool:
        start, end = self.units[first], self.units[first + units - 1] + 1
        return start % WEEK >= 5 * DAY and (end - 1) // WEEK == start // WEEK

    def _dates(self) -> None:
        for one, task in self.tasks.items():
            start, end = self.spans[one]
            if task["by"] != "crew" and self.chance.random() < 0.25:
                task["fixed_start"] = start
            elif self.chance.random() < 0.1:
                task["due"] = max(1, end - self.chance.randrange(2 * WEEK))
                task["late_weight"] = self.chance.randint(1, 5)

    def _floors(self) -> list[dict[str, Any]]:
        floors = []
        for room in self.rooms[:: max(1, len(self.rooms) // 6)]:
            crew = [one for one in room if self.tasks[one]["by"] == "crew"]
            if len(crew) < 2:
                continue
            first = self.chance.randrange(len(crew) - 1)
            a, b = crew[first], crew[min(first + 3, len(crew) - 1)]
            opened, closed = self.spans[a][0], self.spans[b][1]
            apart = [
                one
                for one, (start, end) in self.spans.items()
                if one not in room and (end <= opened or start >= closed)
            ]
            shut = sorted(self.chance.sample(apart, min(len(apart), 8)))
            if opened < closed and shut:
                floors.append({"opens_with": a, "closes_with": b, "not_during": shut})
        return floors

    def _jacked(self) -> list[int]:
        free, jacked = 0, []
        for one, (start, end) in sorted(self.spans.items(), key=lambda item: item[1]):
            if start >= free and self.tasks[one]["by"] == "crew" and self.chance.random() < 0.2:
                jacked.append(one)
                free = max(end, start + HELD)
        return jacked
