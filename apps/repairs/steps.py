"""The tasks of a repair: a table of what is done, how long it takes and what waits for what.

Every duration and wait here is common practice, no source: put them right from your own time
entries. The label of the tin goes before the waits.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from apps.work.ready import (
    DAY_MINUTES,
    LIFT,
    RELAY,
    SURE,
    UNSURE,
    ReadyLink,
    quarters_up,
)

PROPPING: tuple[str, ...] = (
    "Switch off and lock off circuits and close the water in the void before anything is cut.",
    ("Prop the joist on both sides of the cut, and its neighbours where the boards or the ceiling "
    "tie them, before the saw comes near."),
    ("Carry each prop down to sound ground on a spreader, never onto a suspended floor "
    "(chalkline.com.au glossary, second hand)."),
    ("Set each prop plumb within 25 mm in 1 m and within 25 mm of the joist's centre "
    "(cross-safety.org report 32, citing BS 5975:1996)."),
    ("Snug the prop up, do not jack: lifting cracks plaster and shifts load to the neighbours "
    "(common practice, no source)."),
    "Look at the props daily; they stay until the new timber is fixed and has taken the load.",
    "Somebody else is in the house and knows you are under the floor (common practice, no source).",
)  # fmt: skip

DRY_BEFORE_FIT_MINUTES = DAY_MINUTES
"""Preservative is dry before timber is laid together on it (common practice, no source)."""

DRY_BEFORE_COVER_MINUTES = 2 * DAY_MINUTES
"""Preservative is dry before it is covered (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Effort:
    """Likely minutes: so many at all, and so many for each decayed end."""

    minutes: int
    per_end: int = 0
    spread: tuple[float, float] = SURE

    def low_likely_high(self, ends: int) -> tuple[int, int, int]:
        likely = self.minutes + self.per_end * ends
        low, high = (likely * times for times in self.spread)
        return quarters_up(low), quarters_up(likely), quarters_up(high)


@dataclass(frozen=True, slots=True)
class Step:
    """One task, ready to be written. `minutes` are low, likely, high; `in_opening`: it takes the
    place on the floor that the repair opens."""

    key: str
    title: str
    minutes: tuple[int, int, int]
    floor_action: str
    note: str = ""
    people: int = 1
    splittable: bool = True
    loud: bool = False


# (minutes, for each end, spread) and how many people, by option.
EFFORTS: Mapping[str, Mapping[str, Effort]] = {
    "lap_end": {
        "prop": Effort(60, 30), "cut": Effort(15, 45, UNSURE), "treat": Effort(30, 15),
        "fit": Effort(30, 120, UNSURE), "unprop": Effort(30),
    },
    "sister": {
        "prop": Effort(60, 30), "cut": Effort(15, 30, UNSURE), "treat": Effort(30, 15),
        "fit": Effort(180, 0, UNSURE), "unprop": Effort(30),
    },
    "sister_hanger": {
        "prop": Effort(60, 30), "cut": Effort(15, 30, UNSURE), "treat": Effort(30, 15),
        "fit": Effort(180, 45, UNSURE), "unprop": Effort(30),
    },
    "replace": {
        "prop": Effort(90), "cut": Effort(120, 0, UNSURE), "treat": Effort(45),
        "fit": Effort(210, 0, UNSURE), "unprop": Effort(30),
    },
}  # fmt: skip
FITTERS: Mapping[str, int] = {"lap_end": 1, "sister": 2, "sister_hanger": 2, "replace": 2}
FIT_TITLES: Mapping[str, str] = {
    "lap_end": "Fit the new end of {mark}",
    "sister": "Fit the sister beside {mark}",
    "sister_hanger": "Fit the sister beside {mark} and its hanger",
    "replace": "Fit the new {mark}",
}
CUT_TITLES: Mapping[str, str] = {"replace": "Cut {mark} out"}


def steps(
    option: str,
    *,
    mark: str,
    ends: int,
    fit_note: str,
    cut_note: str,
    lift_m2: float,
    lay_m2: float,
) -> tuple[Step, ...]:
    """The tasks of an option in their order.

    Args:
        ends: decayed ends that are cut off; 0: nothing is cut, so nothing is treated.
        lift_m2: boards that are still down over the opening; 0: none are lifted.
        lay_m2: boards that are laid again when it is done.
    """
    efforts = EFFORTS[option]
    cuts = ends > 0 or option == "replace"

    def minutes(step: str) -> tuple[int, int, int]:
        return efforts[step].low_likely_high(ends)

    found = []
    if lift_m2:
        found.append(
            Step("lift", f"Lift the boards over {mark}", LIFT.effort.low_likely_high(lift_m2),
                 "lift", loud=LIFT.loud)
        )  # fmt: skip
    found.append(Step("prop", f"Prop {mark}", minutes("prop"), "work_open", " ".join(PROPPING)))
    if cuts:
        cut = CUT_TITLES.get(option, "Cut the decay off {mark}").format(mark=mark)
        found += [
            Step("cut", cut, minutes("cut"), "work_open", cut_note, splittable=False, loud=True),
            Step(
                "treat", f"Treat the cut faces at {mark}", minutes("treat"), "work_open",
                "Two liberal brush coats on cut faces, end grain, bearings and laps (NHBC "
                "Standards 3.3.5, cut faces of treated timber). The tin's label says how long each "
                "coat dries, and what to wear.",
            ),
        ]  # fmt: skip
    found += [
        Step(
            "fit", FIT_TITLES[option].format(mark=mark), minutes("fit"), "work_open", fit_note,
            people=FITTERS[option], splittable=False, loud=True,
        ),
        Step(
            "unprop", f"Take the props from under {mark}", minutes("unprop"), "work_open",
            "A quarter turn at a time, and look: nothing may follow the prop down. If anything "
            "does, prop it again and ask.",
        ),
        Step(
            "close", f"Lay and fix the boards over {mark}", RELAY.effort.low_likely_high(lay_m2),
            "fix",
        ),
    ]  # fmt: skip
    return tuple(found)


def links(done: tuple[Step, ...]) -> tuple[ReadyLink, ...]:
    """Each task waits for the one before it; what was treated also dries."""
    keys = [step.key for step in done]
    waits = {
        ("treat", "fit"): (DRY_BEFORE_FIT_MINUTES, "Preservative dries; the label says how long."),
        ("treat", "close"): (
            DRY_BEFORE_COVER_MINUTES,
            "Preservative dries before it is covered; the label says how long.",
        ),
    }
    pairs = [*itertools.pairwise(keys)]
    pairs += [pair for pair in waits if pair not in pairs and set(pair) <= set(keys)]
    return tuple(ReadyLink(*pair, *waits.get(pair, (0, ""))) for pair in pairs)
