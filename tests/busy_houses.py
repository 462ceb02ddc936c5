"""Seeded small houses in which much hangs together: evenings, loud hours, boards, visits, waits.

Nearly everything finds a place in them, so that what moves one thing moves others.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime

from apps.planning.problem import (
    Activity,
    Calendar,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
)

DAY = 24  # quarter-hours: short days, so that they come to an end often


def busy_house(seed: int) -> Problem:
    """Five to nine activities over twelve short days."""
    chance = random.Random(seed)
    horizon = 12 * DAY
    evenings = tuple((d * DAY + 10, d * DAY + chance.choice((16, 18, 20))) for d in range(12))
    loud = tuple((d * DAY + 8, d * DAY + chance.choice((13, 15, 20))) for d in range(12))
    trade = tuple((d * DAY + 2, d * DAY + 12) for d in range(1, 12, chance.choice((1, 2))))
    calendars = (
        Calendar("crew", "no_working_time", "Evenings.", evenings),
        Calendar("loud", "quiet_hours", "Loud hours.", loud),
        Calendar("trade", "visit", "Days.", trade),
    )
    activities = tuple(_activity(chance, n) for n in range(1, chance.randint(6, 10)))
    keys = [a.key for a in activities]
    spans = []
    if chance.random() < 0.7:
        opens, closes, stands = sorted(chance.sample(range(len(keys)), 3))
        between = chance.choice(((opens, closes, stands), (stands, closes, opens)))
        lift, fix, stand = between if between[0] < between[1] else (opens, closes, stands)
        spans.append(OpenSpan(keys[lift], keys[fix], (keys[stand],), "Up."))
    return Problem(
        origin=datetime(2026, 6, 1, tzinfo=UTC),
        horizon=horizon,
        activities=activities,
        links=tuple(_links(chance, keys)),
        calendars=calendars,
        resources=(
            Resource("crew", "Mar", "crew"),
            Resource("saw", "The saw", "tool", capacity=chance.choice((1, 1, 2))),
            Resource("plumber", "Plumber", "trade"),
        ),
        open_spans=tuple(spans),
        working_calendar="crew",
    )


def _activity(chance: random.Random, n: int) -> Activity:
    kind = chance.choice(("crew",) * 6 + ("visit", "agreed", "alone"))
    ref = Ref("task", n, f"Task {n}")
    if kind == "agreed":
        start = chance.randint(1, 6) * DAY + chance.randint(2, 12)
        uses = chance.choice((("plumber",), ("crew",)))
        return Activity(f"task:{n}", ref, 3, uses, fixed=(start, start + 3))
    if kind == "visit":
        return Activity(
            f"task:{n}", ref, chance.randint(2, 5), ("plumber",), calendars=("trade",),
            splittable=False,
        )  # fmt: skip
    uses = ("crew",) if kind == "crew" else ()
    if chance.random() < 0.4:
        uses += ("saw",)
    splittable = chance.random() < 0.6
    return Activity(
        f"task:{n}",
        ref,
        effort=chance.randint(1, 14) if splittable else chance.randint(1, 5),
        uses=uses,
        calendars=("crew", "loud") if chance.random() < 0.3 else ("crew",),
        splittable=splittable,
        shortest_stint=chance.randint(1, 3),
        set_up=chance.choice((0, 0, 1)),
        clear_up=chance.choice((0, 0, 1)),
        releases=(Release(chance.choice((0, 0, DAY, 2 * DAY)), "supply", "Late."),),
    )


def _links(chance: random.Random, keys: list[str]):
    for _ in range(chance.randint(2, len(keys))):
        before, after = sorted(chance.sample(range(len(keys)), 2))
        kind = chance.choice(("FS", "FS", "FS", "SS", "FF", "SF"))
        lag = chance.choice((0, 0, 1, 4, DAY))
        clock = chance.choice(("elapsed", "elapsed", "working"))
        yield Link(keys[before], keys[after], kind, min(lag, 6) if clock == "working" else lag,
                   clock=clock)  # fmt: skip
