"""From boards to order: who must have which boards open before whom, as links.

A task that lifts boards comes before everything that needs them open; everything that
needs them open comes before the task that fixes them; who stands on them waits until they
are down again. Receives touched board ids; knows no geometry and no rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from apps.floors.words import listed
from apps.planning.problem import Link, OpenSpan, Ref, Release

FloorAction = Literal["lift", "work_open", "fix", "stand_on"]
MARKS_NAMED = 4


@dataclass(frozen=True, slots=True)
class FloorTask:
    """A task still to do that does something to boards."""

    key: str
    ref: Ref
    action: FloorAction
    boards: frozenset[int]


@dataclass(frozen=True, slots=True)
class OpenNeed:
    """Someone who needs boards open and has not released them.

    `key` is the activity that uses the opening, and whose end releases it; None when
    nothing in the plan does (a passed visit that nobody recorded, a date). `until` is the
    quarter-hour of a release by date.
    """

    ref: Ref
    boards: frozenset[int]
    key: str | None
    who: str
    purpose: str
    until: int | None = None


@dataclass(frozen=True, slots=True)
class FloorOrder:
    """What follows for the planner."""

    links: tuple[Link, ...]
    open_spans: tuple[OpenSpan, ...]
    releases: dict[str, tuple[Release, ...]]


def order_floor(
    tasks: Sequence[FloorTask],
    needs: Sequence[OpenNeed],
    *,
    marks: Mapping[int, str],
    open_now: frozenset[int],
    before: Mapping[str, Iterable[str]],
    never: int,
) -> FloorOrder:
    """Derive links, open spans and releases from who touches which boards.

    Args:
        marks: mark of each board id, for sentences.
        open_now: boards that are up or missing.
        before: the person's own links: activity key → keys that come after it. A derived
            link that would close a circle with them is left out.
        never: a quarter-hour that no activity reaches, for "not before somebody says so".
    """
    derived = Derived(before)
    lifts = [task for task in tasks if task.action == "lift"]
    fixes = [task for task in tasks if task.action == "fix"]
    openings = [*needs, *(work_as_need(task) for task in tasks if task.action == "work_open")]
    releases: dict[str, tuple[Release, ...]] = {}

    for need in openings:
        lifting = [task for task in lifts if task.boards & need.boards]
        for task in lifting:
            if need.key and task.key != need.key:
                derived.add(up_link(task, need, marks))
        for task in fixes:
            shared = task.boards & need.boards
            if not shared or task.key == need.key:
                continue
            if need.key is None:
                releases[task.key] = (*releases.get(task.key, ()), wait(need, shared, marks, never))
            else:
                # A link of the person's own that puts the fixing first stands; the hold it
                # contradicts becomes an alert.
                derived.add(held_link(task, need, marks))

    for fix in fixes:
        for lift in lifts:
            if lift.boards & fix.boards:
                derived.add(lift_first(lift, fix, marks))
    spans = [
        span
        for task in tasks
        if task.action == "stand_on"
        for span in standing(task, lifts, fixes, marks, open_now)
    ]
    return FloorOrder(tuple(derived.links), tuple(spans), releases)


def work_as_need(task: FloorTask) -> OpenNeed:
    """Work in the open floor needs its boards open exactly as an outsider does."""
    return OpenNeed(task.ref, task.boards, task.key, task.ref.name, task.ref.name)


def up_link(lift: FloorTask, need: OpenNeed, marks: Mapping[int, str]) -> Link:
    named = say_marks(lift.boards & need.boards, marks)
    return Link(
        lift.key, need.key or "", code="boards_held",
        reason=f"{named} must be up for {need.who}.", by=(lift.ref, need.ref),
    )  # fmt: skip


def held_link(fix: FloorTask, need: OpenNeed, marks: Mapping[int, str]) -> Link:
    named = say_marks(fix.boards & need.boards, marks)
    return Link(
        need.key or "", fix.key, code="boards_held",
        reason=f"Held open for {need.who}: {named}.", by=(need.ref,),
    )  # fmt: skip


def lift_first(lift: FloorTask, fix: FloorTask, marks: Mapping[int, str]) -> Link:
    named = say_marks(lift.boards & fix.boards, marks)
    return Link(
        lift.key, fix.key, code="boards_held", reason=f"To come up first: {named}.", by=(lift.ref,)
    )


def wait(need: OpenNeed, shared: frozenset[int], marks: Mapping[int, str], never: int) -> Release:
    named = say_marks(shared, marks)
    if need.until is not None:
        return Release(
            need.until, "boards_held", f"Held open for {need.who}: {named}.", (need.ref,)
        )
    sentence = f"Nothing says when {need.who} is done ({need.purpose}); held open: {named}."
    return Release(never, "boards_held", sentence, (need.ref,))


def standing(
    task: FloorTask,
    lifts: Sequence[FloorTask],
    fixes: Sequence[FloorTask],
    marks: Mapping[int, str],
    open_now: frozenset[int],
) -> Iterable[OpenSpan]:
    """The stretches in which someone cannot stand where they have to."""
    for fix in fixes:
        shared = fix.boards & task.boards
        if not shared or fix.key == task.key:
            continue
        lifting = [lift for lift in lifts if lift.boards & shared]
        sentence = f"Up where {task.ref.name} stands: {say_marks(shared, marks)}."
        if shared & open_now:
            yield OpenSpan(None, fix.key, (task.key,), sentence, (fix.ref,))
        for lift in lifting:
            yield OpenSpan(lift.key, fix.key, (task.key,), sentence, (lift.ref, fix.ref))


def say_marks(boards: Iterable[int], marks: Mapping[int, str]) -> str:
    """ "B4.1, B4.2 and 3 more", in counting order."""
    return listed(sorted((marks[board] for board in boards), key=mark_key), MARKS_NAMED)


def mark_key(mark: str) -> tuple[tuple[int, str], ...]:
    """Order marks as people count: B2.1 before B10.1."""
    digits = "".join(c if c.isdigit() else " " for c in mark).split()
    return (*((int(part), "") for part in digits), (0, mark))


class Derived:
    """Derived links, none of which closes a circle with the person's own or with each other."""

    def __init__(self, before: Mapping[str, Iterable[str]]) -> None:
        self.after: dict[str, set[str]] = {key: set(keys) for key, keys in before.items()}
        self.links: list[Link] = []

    def add(self, link: Link) -> bool:
        """Keep the link, unless its end already comes before its start."""
        if self.leads(link.after, link.before):
            return False
        self.after.setdefault(link.before, set()).add(link.after)
        if link not in self.links:
            self.links.append(link)
        return True

    def leads(self, one: str, other: str) -> bool:
        seen: set[str] = set()
        left = [one]
        while left:
            for key in self.after.get(left.pop(), ()):
                if key == other:
                    return True
                if key not in seen:
                    seen.add(key)
                    left.append(key)
        return False
