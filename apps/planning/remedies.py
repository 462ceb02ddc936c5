"""What would help: a change of the question, what it costs, and what it would do.

A remedy is data: what is changed in the `Problem`, what another solve of the changed problem
shows, and a price by which remedies are put in order. The prices are our own rule of thumb
(common practice, no source): minutes of somebody's time, so that a telephone call, an evening
and a task left out can be compared at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from .problem import QUARTER_MINUTES, Activity, Calendar, Interval, Link, Problem
from .windows import merge

RemedyKind = Literal[
    "move_visit", "add_evening", "bring_helper", "split_task", "drop_task", "drop_link"
]

# What asking for it costs, in minutes, whatever its size: a telephone call, a talk at home,
# a change of the record. Common practice, no source.
ASKING: Mapping[RemedyKind, int] = {
    "split_task": 15,
    "drop_link": 15,
    "move_visit": 30,
    "add_evening": 0,
    "bring_helper": 15,
    "drop_task": 15,
}
# What each minute of its size costs: of the evening, of the helper's time, of the work left out
# (which somebody has to do another time, with tools to be brought out again). A visit's size is
# how far it moves. Common practice, no source.
PER_MINUTE: Mapping[RemedyKind, float] = {
    "split_task": 0,
    "drop_link": 0,
    "move_visit": 60 / (24 * 60),
    "add_evening": 1,
    "bring_helper": 1.5,
    "drop_task": 2,
}
# What each minute costs by which due dates (by their weights) and the finish are worse off: an
# hour for a day late, a quarter of an hour for a day longer. Common practice, no source.
PER_MINUTE_LATE = 60 / (24 * 60)
PER_MINUTE_LONGER = 15 / (24 * 60)


@dataclass(frozen=True, slots=True)
class Change:
    """One change of the question.

    Attributes:
        activity: what is moved, split or left out.
        place: where a visit is put.
        calendars, windows: hours that are added, and to whose.
        link: what is taken out.
    """

    kind: RemedyKind
    activity: str | None = None
    place: Interval | None = None
    calendars: tuple[str, ...] = ()
    windows: tuple[Interval, ...] = ()
    link: Link | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """A plan in the figures that a remedy is judged by, in quarter-hours; `late` is weighted."""

    short: int
    unplaced: int
    unready: int
    late: int
    finish: int


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change with its effect, seen by solving again with little effort.

    So the good it does is at least this, and the delays it brings at most these.
    """

    change: Change
    before: Figures
    after: Figures
    size: int

    @property
    def helps(self) -> bool:
        """Less is short, and nothing else loses its place or becomes less ready."""
        return (
            self.after.short < self.before.short
            and self.after.unplaced <= self.before.unplaced
            and self.after.unready <= self.before.unready
        )

    @property
    def price(self) -> int:
        """Minutes of somebody's time, by the tables above."""
        late = max(0, self.after.late - self.before.late)
        longer = max(0, self.after.finish - self.before.finish)
        own = PER_MINUTE[self.change.kind] * self.size
        minutes = own + PER_MINUTE_LATE * late + PER_MINUTE_LONGER * longer
        return ASKING[self.change.kind] + round(QUARTER_MINUTES * minutes)

    @property
    def rank(self) -> tuple[bool, int, int]:
        """What ends the complaint comes before what eases it; then by price."""
        return self.after.short > 0, self.price, self.after.short


@dataclass(frozen=True, slots=True)
class Offer:
    """What a house could change, as far as the record knows.

    Attributes:
        visit_starts: for each outsider, starts on the days they come, at their usual hour.
        evenings: stretches in which the crew has no hours and could have some, in order.
        crew: calendars of the crew's own hours.
        droppable: tasks that can wait without leaving a floor open or work unfit to be seen.
        loose_links: links of the person's own order that nothing but habit asks for.
    """

    visit_starts: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    evenings: tuple[Interval, ...] = ()
    crew: tuple[str, ...] = ()
    droppable: frozenset[str] = frozenset()
    loose_links: frozenset[Link] = frozenset()


def applied(problem: Problem, change: Change) -> Problem:
    """The question with one thing changed."""
    if change.kind == "drop_task":
        return without(problem, change.activity or "")
    if change.kind == "drop_link":
        return replace(problem, links=tuple(one for one in problem.links if one != change.link))
    if change.kind in {"add_evening", "bring_helper"}:
        return replace(
            problem,
            calendars=tuple(
                _longer(one, change.windows) if one.key in change.calendars else one
                for one in problem.calendars
            ),
        )
    return replace(
        problem,
        activities=tuple(
            _changed(one, change) if one.key == change.activity else one
            for one in problem.activities
        ),
    )


def _longer(calendar: Calendar, windows: tuple[Interval, ...]) -> Calendar:
    return replace(calendar, windows=tuple(merge([*calendar.windows, *windows])))


def _changed(activity: Activity, change: Change) -> Activity:
    if change.kind == "split_task":
        return replace(activity, splittable=True)
    assert change.place is not None, "a visit is moved to a place"  # nosec B101
    due = activity.due
    # A wanted visit that is agreed for a time after its window has a new window by that.
    if due is not None and activity.fixed is None:
        due = max(due, change.place[1])
    return replace(activity, fixed=change.place, due=due)


def without(problem: Problem, key: str) -> Problem:
    """The question with one activity left out, and with it its links and open spans."""
    return replace(
        problem,
        activities=tuple(one for one in problem.activities if one.key != key),
        links=tuple(one for one in problem.links if key not in {one.before, one.after}),
        open_spans=tuple(
            replace(
                span,
                closes=None if span.closes == key else span.closes,
                excludes=tuple(one for one in span.excludes if one != key),
            )
            for span in problem.open_spans
            if span.opens != key
        ),
        route_openings=tuple(
            one for one in problem.route_openings if key not in {one.opens, one.closes}
        ),
        previous=tuple(stint for stint in problem.previous if stint.activity != key),
    )


def cheapest(remedies: list[Remedy], count: int) -> tuple[Remedy, ...]:
    """The best of each kind for each thing, the cheapest first."""
    best: dict[tuple[str, str | None], Remedy] = {}
    for remedy in sorted((one for one in remedies if one.helps), key=lambda one: one.rank):
        best.setdefault((remedy.change.kind, remedy.change.activity), remedy)
    return tuple(sorted(best.values(), key=lambda one: one.rank)[:count])
