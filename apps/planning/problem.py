"""What the planner is asked, in plain numbers and names: no rows, no solver.

Times are whole quarter-hours counted from `Problem.origin`, as real elapsed time
(a night in which the clocks change has 23 or 25 hours). Intervals are half-open.
Everything a sentence may need to name travels as a `Ref`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

QUARTER_MINUTES = 15

Interval = tuple[int, int]
LinkKind = Literal["FS", "SS", "FF", "SF"]
LagClock = Literal["elapsed", "working"]
Mode = Literal["stints", "carried_on", "elapsed"]
LevelName = Literal[
    "unplaced",
    "unready",
    "late",
    "disturbed",
    "finish",
    "open_nights",
    "breaks",
    "moved",
]
ReasonCode = Literal[
    "predecessor",
    "drying",
    "visit",
    "sign_off",
    "notice",
    "supply",
    "timber_wet",
    "crew_busy",
    "helper_away",
    "tool_busy",
    "quiet_hours",
    "no_working_time",
    "not_before",
    "boards_held",
    "none",
]


# Levels that are counts, not stretches of time.
COUNTED: frozenset[LevelName] = frozenset({"disturbed", "open_nights", "breaks", "moved"})


@dataclass(frozen=True, slots=True)
class Ref:
    """Something of the record that a sentence names: its kind, id and name."""

    kind: str
    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Calendar:
    """When something can happen at all: a person's hours, the quiet hours' opposite, an opening.

    `windows` are sorted, disjoint and not touching: two stretches that meet are one.
    `code` is the reason given when work cannot lie outside them; `sentence` says whose
    hours they are, ready to follow a time ("Sam helps on Sundays only."). `said`, where it is
    not empty, has for each window a sentence for what lies before it and one for what lies
    after it ("It is dark outside from 16:05."); such hours are a rule of their own, never part
    of the basic working hours.
    """

    key: str
    code: ReasonCode
    sentence: str
    windows: tuple[Interval, ...]
    by: tuple[Ref, ...] = ()
    said: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Resource:
    """Something that can serve `capacity` stints at once: the crew (1), a tool, a trade."""

    key: str
    name: str
    kind: Literal["crew", "tool", "trade", "inspector"]
    capacity: int = 1
    ref: Ref | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """A time before which an activity cannot start, and why."""

    at: int
    code: ReasonCode
    sentence: str
    by: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class Hold:
    """A resource held on the wall clock, nights and breaks included.

    From the activity's start until the later of its end and `least` quarter-hours after the
    start: a jack under a joist while the mortar goes off. As many units as the activity uses
    of it; one if it uses none. What is held is not used a second time.
    """

    resource: str
    least: int


@dataclass(frozen=True, slots=True)
class Activity:
    """Something to be placed: a crew task, a visit or an inspection.

    Attributes:
        key: unique in the problem, e.g. `task:12`.
        effort: quarter-hours of work still to do, at least 1.
        uses: keys of resources held during every stint.
        demand: units of each of `uses`, in the same order; empty means one of each.
        mode: "stints" is cut into stints as suits; "carried_on" takes the next `effort`
            quarter-hours of its hours without another activity of its resources between;
            "elapsed" begins in its hours and runs on the wall clock from there, breaks and
            nights included. The last two are of one piece: set-up and clear-up are taken
            once, and `splittable` and `shortest_stint` say nothing.
        within: key of a calendar, one window of which holds all of it (one weekend).
        holds: resources held on the wall clock from its start.
        calendars: keys of calendars; every stint lies inside one window of their intersection.
        splittable: False means one stint.
        shortest_stint: quarter-hours of work in the shortest stint (the last one may not be
            shorter either; an effort below it is one stint).
        set_up, clear_up: quarter-hours added before and after the work of every stint. They
            hold the same resources and windows; they are not effort.
        releases: times before which it cannot start.
        due: the end it should keep, or None. `due_weight` multiplies each quarter-hour late.
        fixed: for an agreed visit or a booked inspection, its time. Nothing moves it; what
            should have been ready before it and is not is counted as unready. A fixed
            activity obeys no calendar, release or resource: it is a fact.
    """

    key: str
    ref: Ref
    effort: int
    uses: tuple[str, ...] = ()
    demand: tuple[int, ...] = ()
    mode: Mode = "stints"
    within: str | None = None
    holds: tuple[Hold, ...] = ()
    calendars: tuple[str, ...] = ()
    splittable: bool = True
    shortest_stint: int = 2
    set_up: int = 0
    clear_up: int = 0
    releases: tuple[Release, ...] = ()
    due: int | None = None
    due_weight: int = 1
    fixed: Interval | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """An order between two activities, with a shortest and perhaps a longest wait.

    FS: start(after) ≥ end(before) + min_lag; SS start-start; FF end-end; SF:
    end(after) ≥ start(before) + min_lag. `max_lag` bounds the same difference from above.
    Start is the start of the first stint (its set-up), end the end of the last (its clear-up).
    `clock` "elapsed" counts quarter-hours on the wall (drying); "working" counts only those
    inside the calendar `Problem.working_calendar`.
    `code` and `by` feed the reason ("predecessor", "drying", "visit", "sign_off", "boards_held").
    """

    before: str
    after: str
    kind: LinkKind = "FS"
    min_lag: int = 0
    max_lag: int | None = None
    clock: LagClock = "elapsed"
    code: ReasonCode = "predecessor"
    reason: str = ""
    by: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenSpan:
    """A stretch during which some activities cannot happen: boards are up where they stand.

    From the start of `opens` (None: already open) to the end of `closes` (None: nothing
    closes it). No stint of an activity in `excludes` may overlap it.
    """

    opens: str | None
    closes: str | None
    excludes: tuple[str, ...]
    sentence: str = ""
    by: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class RouteOpening:
    """Boards of a household route that are up from the end of `opens` to the end of `closes`.

    `opens` None: up already; `closes` None: nothing closes them. What has no place opens or
    closes nothing.
    """

    opens: str | None
    closes: str | None


@dataclass(frozen=True, slots=True)
class Stint:
    """One unbroken stretch of an activity: `[start, end)` with set-up and clear-up inside.

    `firm` False: far ahead, known to the half-day only. It is no part of what a stint is.
    """

    activity: str
    start: int
    end: int
    firm: bool = field(default=True, compare=False)


@dataclass(frozen=True, slots=True)
class Problem:
    """One house's question to the planner.

    `horizon` is the end of the planning axis: nothing is placed at or after it.
    `previous` is the last plan's stints, for a warm start and to be kept to where nothing is
    lost by it; may be empty. What begins before `settled_until` in it is moved only if
    something would else be unplaced, unready or late(r).
    `nights` are the moments (ascending) at which `route_openings` are looked at.
    """

    origin: datetime
    horizon: int
    activities: tuple[Activity, ...]
    links: tuple[Link, ...] = ()
    calendars: tuple[Calendar, ...] = ()
    resources: tuple[Resource, ...] = ()
    open_spans: tuple[OpenSpan, ...] = ()
    working_calendar: str | None = None
    previous: tuple[Stint, ...] = ()
    settled_until: int = 0
    route_openings: tuple[RouteOpening, ...] = ()
    nights: tuple[int, ...] = ()

    def at(self, quarter: int) -> datetime:
        """The instant of a quarter-hour, in UTC."""
        return self.origin + timedelta(minutes=QUARTER_MINUTES * quarter)


@dataclass(frozen=True, slots=True)
class Unplaced:
    """An activity that has no place in the plan, why, and how many quarter-hours are short."""

    activity: str
    code: ReasonCode
    sentence: str
    short: int
    by: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class Unready:
    """A link into a fixed activity, or a longest wait, that this plan does not keep.

    `short` is by how many quarter-hours.
    """

    link: Link
    short: int


@dataclass(frozen=True, slots=True)
class Level:
    """One level of the objective, most important first: its value and a proven lower bound.

    In quarter-hours: `unplaced` is the effort of what has no place; `unready` the sum of
    `Unready.short`; `late` the sum of `due_weight` × quarter-hours late; `finish` the latest
    end of any stint that is not fixed. Counted: `disturbed`, activities that began before
    `settled_until` in the previous plan and begin at another time; `open_nights`, nights in
    which a route opening is open; `breaks`, how often work in stints is broken off; `moved`,
    activities of the previous plan that begin at another time or have no place.
    """

    name: LevelName
    value: int
    bound: int


@dataclass(frozen=True, slots=True)
class Solution:
    """A plan as the solver leaves it. `levels` are in order of importance.

    `proven` is True when every level's value meets its bound. `gap` is the relative
    distance (value - bound) / value of the first level measured in time that does not, else
    0.0; of nights, breaks and moves, which are counted, a share would say nothing.
    """

    stints: tuple[Stint, ...]
    unplaced: tuple[Unplaced, ...] = ()
    unready: tuple[Unready, ...] = ()
    levels: tuple[Level, ...] = ()
    circles: tuple[tuple[Link, ...], ...] = field(default=())

    def level(self, name: LevelName) -> Level:
        """The level of that name; KeyError where the solution has none."""
        for level in self.levels:
            if level.name == name:
                return level
        raise KeyError(name)

    @property
    def proven(self) -> bool:
        return all(level.value <= level.bound for level in self.levels)

    @property
    def gap(self) -> float:
        for level in self.levels:
            if level.name not in COUNTED and level.value > level.bound:
                return (level.value - level.bound) / level.value
        return 0.0


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a stint is not planned sooner: the first rule that breaks one place earlier."""

    code: ReasonCode
    sentence: str
    by: tuple[Ref, ...] = ()
