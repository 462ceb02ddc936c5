"""The odds that things are ready in time, from many runs of a plan, in numbers and in words.

A chance is the share of runs; it is said as people say it and no finer than it is known:
2,000 runs tell a chance to about one in a hundred, the estimates behind them far less well.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from .problem import QUARTER_MINUTES, Ref
from .run_hours import NEVER

if TYPE_CHECKING:
    from .run_hours import Minutes

# The chance at which a date is worth telling somebody else: four in five.
LIKELY_PCT = 80

Say = Callable[[int], str]


@dataclass(frozen=True, slots=True)
class Asked:
    """What the odds are asked of.

    Attributes:
        clause: what it is to be ready, after "7 in 10 that".
        by: the quarter-hour by which it should be; None where it has no place in the plan.
        times: minutes at which it was ready, run by run; None where it waits for nothing.
        say: how its times are said, e.g. "Thu 3 Dec, 09:00", from a quarter-hour.
        preposition: before the time: "on", "by the end of".
    """

    about: Ref
    clause: str
    by: int | None
    times: Minutes | None
    say: Say
    preposition: str = "on"


@dataclass(frozen=True, slots=True)
class Odds:
    """How likely something is ready in time.

    Attributes:
        by: quarter-hour by which it should be.
        chance: share of the runs in which it was, 0 to 1.
        words: that chance in words.
        by_80: the first quarter-hour by which it was ready in four of five runs; None: beyond
            the plan's days, or there is nothing to wait for.
    """

    about: Ref
    by: int | None
    chance: float
    words: str
    by_80: int | None
    sentence: str


def odds(asked: Asked) -> Odds:
    """The odds of one thing."""
    if asked.by is None:
        sentence = f"Part of {asked.about.name} has no place in the plan."
        return Odds(asked.about, None, 0.0, in_words(0.0), None, sentence)
    if asked.times is None:
        sentence = f"Nothing in the plan has to be done first for {asked.about.name}."
        return Odds(asked.about, asked.by, 1.0, "sure", None, sentence)
    share = chance(asked.times, asked.by * QUARTER_MINUTES)
    by_80 = reached(asked.times, LIKELY_PCT)
    words = in_words(share)
    sentence = (
        f"{words[0].upper()}{words[1:]} that {asked.clause} {asked.preposition} "
        f"{asked.say(asked.by)}{_later(asked, share, by_80)}."
    )
    return Odds(asked.about, asked.by, share, words, by_80, sentence)


def _later(asked: Asked, share: float, by_80: int | None) -> str:
    """When it is likely, where it is not likely in time."""
    if share * 100 >= LIKELY_PCT:
        return ""
    if by_80 is None:
        return "; 8 in 10 only after the last day of this plan"
    # Said no sooner than it is: a time is the end of its day where days are said.
    return f"; 8 in 10 by {asked.say(by_80)}"


def chance(times: Minutes, by_minutes: int) -> float:
    """The share of the runs in which something was ready by then."""
    return float(np.mean(times <= by_minutes))


def reached(times: Minutes, percent: int) -> int | None:
    """The first quarter-hour by which that share of the runs was ready; None: never."""
    enough = ceil(len(times) * percent / 100)
    at = int(np.partition(times, enough - 1)[enough - 1])
    return None if at >= NEVER else -(-at // QUARTER_MINUTES)


def in_words(share: float) -> str:
    """ "7 in 10", "more than 19 in 20", "less than 1 in 20"."""
    if share > 0.95:
        return "more than 19 in 20"
    if share < 0.05:
        return "less than 1 in 20"
    return f"{min(9, max(1, int(share * 10 + 0.5)))} in 10"
