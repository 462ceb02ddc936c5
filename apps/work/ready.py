"""Ready packages: the usual tasks of a small job, in their usual order, as a table.

Every duration here is common practice, no source: a starting point to be put right from
one's own time entries. So are the waits: the label of the tin and the maker's sheet rule.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

QUARTER_MINUTES = 15
DAY_MINUTES = 24 * 60
SURE = (0.75, 1.5)
UNSURE = (0.6, 2.25)


@dataclass(frozen=True, slots=True)
class Effort:
    """What a task takes: likely minutes to set up and per square metre of floor.

    `spread` is how many times the likely minutes the low and the high ones are.
    """

    minutes: int
    per_m2: int = 0
    spread: tuple[float, float] = SURE

    def low_likely_high(self, area_m2: float) -> tuple[int, int, int]:
        """Minutes for an area [m²], each rounded up to a quarter of an hour."""
        likely = self.minutes + self.per_m2 * area_m2
        low, high = (likely * times for times in self.spread)
        return quarters_up(low), quarters_up(likely), quarters_up(high)


def quarters_up(minutes: float) -> int:
    # The rounding keeps 90.00000000000001 from becoming a quarter of an hour more.
    return max(1, ceil(round(minutes / QUARTER_MINUTES, 6))) * QUARTER_MINUTES


def at_ones_own_pace(minutes: tuple[int, int, int], likely: int) -> tuple[int, int, int]:
    """Low, likely and high minutes with another likely one: the others keep their proportion."""
    low, was, high = minutes
    return max(1, round(low * likely / was)), likely, round(high * likely / was)


def usual_low_and_high(likely_minutes: int) -> tuple[int, int]:
    """If all goes well and if it goes badly, where only the likely minutes are said: three
    quarters and half as much again (common practice, no source)."""
    low, high = (quarters_up(likely_minutes * times) for times in SURE)
    return min(low, likely_minutes), max(high, likely_minutes)


@dataclass(frozen=True, slots=True)
class ReadyTask:
    """One task of a package. `floor_action` other than none takes the package's place on the
    floor; `by_trade` tasks are the trade's, where one is named."""

    step: str
    title: str
    effort: Effort
    floor_action: str = "none"
    loud: bool = False
    outdoors: bool = False
    by_trade: bool = False


@dataclass(frozen=True, slots=True)
class ReadyLink:
    """`after` waits for `before` to finish, and then for elapsed time (drying, settling)."""

    before: str
    after: str
    min_lag_minutes: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class ReadyPackage:
    """A package: its kind among the work packages, its tasks in order, its extra links.

    Each task waits for the one before it; `links` say what else waits, and for how long.
    """

    title: str
    kind: str
    note: str
    tasks: tuple[ReadyTask, ...]
    links: tuple[ReadyLink, ...] = ()

    @property
    def needs_place(self) -> bool:
        return any(task.floor_action != "none" for task in self.tasks)

    def all_links(self) -> tuple[ReadyLink, ...]:
        """The chain of the tasks, with the extra links in place of those they sharpen."""
        said = {(link.before, link.after) for link in self.links}
        steps = [task.step for task in self.tasks]
        chain = (ReadyLink(*pair) for pair in pairwise(steps))
        return (*(link for link in chain if (link.before, link.after) not in said), *self.links)


DURATIONS = "Durations and waits are common practice, no source: put them right as you go."
LIFT = ReadyTask("lift", "Lift the boards", Effort(30, 25), "lift", loud=True)
RELAY = ReadyTask("relay", "Lay and fix the boards", Effort(30, 30), "fix")

READY: Mapping[str, ReadyPackage] = {
    "floor_repair": ReadyPackage(
        "Floor repair",
        "floor",
        "Joist repairs are structural: building control, and where they ask an engineer, say "
        "what must be seen before the boards go down; add that inspection. Isolate circuits and "
        f"pipes before cutting. {DURATIONS}",
        (
            LIFT,
            ReadyTask(
                "inspect", "Look through the void: joist ends, plate, damp, pipes, cables",
                Effort(30, 5), "work_open",
            ),
            ReadyTask(
                "repair", "Repair the joist ends", Effort(120, 40, UNSURE), "work_open", loud=True
            ),
            ReadyTask(
                "treat", "Treat the joist ends and cut faces", Effort(30, 10), "work_open"
            ),
            RELAY,
        ),
        (
            ReadyLink(
                "treat", "relay", 2 * DAY_MINUTES,
                "Preservative dries before it is covered; the label says how long.",
            ),
        ),
    ),
    "first_fix_run": ReadyPackage(
        "First-fix run under the floor",
        "first_fix",
        "Electrical and gas work is for registered people. Notches and holes only where the "
        f"joist check passes. {DURATIONS}",
        (
            LIFT,
            ReadyTask(
                "run", "Run the pipes or cables through the open floor",
                Effort(60, 30, UNSURE), "work_open", by_trade=True,
            ),
            ReadyTask(
                "look", "Test and photograph the run before it is covered", Effort(30, 3),
                "work_open",
            ),
            RELAY,
        ),
    ),
    "board_replacement": ReadyPackage(
        "New boards",
        "floor",
        "New boards rest in the room before they are fixed; the supplier says how long. "
        f"{DURATIONS}",
        (
            ReadyTask("stack", "Stack the new boards in the room", Effort(30, 3)),
            LIFT,
            ReadyTask(
                "check", "Check the joists' tops and bearings", Effort(15, 5), "work_open"
            ),
            ReadyTask(
                "cut", "Cut and fit the new boards dry", Effort(30, 30), "work_open", loud=True
            ),
            RELAY,
        ),
        (
            ReadyLink(
                "stack", "relay", 7 * DAY_MINUTES,
                "New boards take on the room's moisture before they are fixed.",
            ),
        ),
    ),
    "vent_clearing": ReadyPackage(
        "Air bricks cleared",
        "damp",
        f"Nothing may stand or be paved against an air brick. {DURATIONS}",
        (
            ReadyTask("find", "Find every air brick, outside and in", Effort(30), outdoors=True),
            ReadyTask(
                "clear", "Clear the air bricks and the ground before them",
                Effort(120, 0, UNSURE), outdoors=True,
            ),
            ReadyTask("check", "Check that air moves under the floor", Effort(30)),
        ),
    ),
    "insulation": ReadyPackage(
        "Floor insulation",
        "insulation",
        "Keep the air bricks open and the void ventilated below the insulation. Cables laid in "
        "insulation carry less: ask an electrician. Building control may want to see it before "
        f"it is covered. {DURATIONS}",
        (
            LIFT,
            ReadyTask(
                "check", "Check that the void is dry and vented, and where cables run",
                Effort(15, 5), "work_open",
            ),
            ReadyTask(
                "carry", "Fix netting or battens between the joists", Effort(30, 20), "work_open"
            ),
            ReadyTask("fill", "Lay the insulation between the joists", Effort(30, 15), "work_open"),
            RELAY,
        ),
    ),
}  # fmt: skip
