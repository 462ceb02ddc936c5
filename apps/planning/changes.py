"""What moved from one plan to the next, and because of what.

The cause is found by trying: what would be in the way at the old time, in the new plan? If
that, or what moved it in its turn, is a thing that was changed since, that is the cause; for
what moved forward, what had held it back before is asked as well. Where the trail ends at
nothing that was changed, the answer says so.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

from .blockers import blockers, thing
from .edits import Edit
from .problem import Interval, Problem, Ref

Say = Callable[[int], str]
# Steps of a trail that its sentence names; `by` has them all.
MOST_SAID = 2
ANOTHER = "The work was put in another order."


@dataclass(frozen=True, slots=True)
class Before:
    """The plan before, in quarter-hours of the new one's axis; some may lie before 0.

    Attributes:
        stints: by activity, in order.
        held_by: by activity, the things that its stints (or its having no place) named as
            the reason not to be sooner.
        names: of all that had a place.
        compares: False when the plan before kept no facts to compare with.
    """

    stints: Mapping[str, Sequence[Interval]]
    held_by: Mapping[str, Sequence[Ref]] = field(default_factory=dict)
    names: Mapping[str, Ref] = field(default_factory=dict)
    compares: bool = True


@dataclass(frozen=True, slots=True)
class Because:
    sentence: str
    by: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """One activity that has other times, has come or has gone; quarter-hours, None: no place."""

    about: Ref
    was: Interval | None
    now: Interval | None
    sentence: str
    because: Because

    def as_dict(self, at: Callable[[int], datetime]) -> dict[str, Any]:
        """As the API answers it; `at` is the instant of a quarter-hour."""

        def instants(span: Interval | None) -> tuple[str | None, str | None]:
            if span is None:
                return None, None
            return at(span[0]).isoformat(), at(span[1]).isoformat()

        was, was_until = instants(self.was)
        now, now_until = instants(self.now)
        return {
            "about": asdict(self.about), "was": was, "was_until": was_until, "now": now,
            "now_until": now_until, "sentence": self.sentence, "because": asdict(self.because),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moved:
    """How many stints of the plan before were still ahead, and how many have other times."""

    stints: int
    moved: int

    @property
    def share(self) -> float:
        return self.moved / self.stints if self.stints else 0.0

    @property
    def sentence(self) -> str:
        if not self.stints:
            return "No stint of the plan before was still ahead."
        word = "stint" if self.stints == 1 else "stints"
        return f"{self.moved} of the {self.stints} {word} that were still ahead moved."


def ahead(stints: Iterable[Interval], now: int) -> list[Interval]:
    """What of some stints is not over yet; of one that is under way, the rest."""
    return [(max(start, now), end) for start, end in stints if end > now]


def changes(
    problem: Problem,
    placed: Mapping[str, Sequence[Interval]],
    before: Before,
    edits: Sequence[Edit],
    *,
    now: int,
    say: Say,
) -> list[Change]:
    """Everything that has other times than in the plan before, in order of the new times.

    Args:
        placed: the new plan's stints by activity.
        now: the quarter-hour from which the new plan plans.
        say: renders a quarter-hour in the house's own words.
    """
    trail = Trail(problem, placed, before, edits, now)
    found = []
    for key in dict.fromkeys([*before.stints, *trail.activities]):
        was, is_now = before.stints.get(key, ()), placed.get(key, ())
        if not trail.changed(key):
            continue
        old = _span([stint for stint in was if stint[1] > now] or was[-1:])
        new = _span(is_now)
        sentence = _sentence(trail, key, old, new, say)
        found.append(Change(trail.ref(key), old, new, sentence, trail.because(key)))
    return sorted(found, key=lambda one: (one.now or one.was or (0, 0), one.about.name))


def moved(
    problem: Problem, placed: Mapping[str, Sequence[Interval]], before: Before, *, now: int
) -> Moved:
    """The share of stints that moved. What is fixed counts neither way, and nor does what is
    no longer to be done."""
    stood = count = 0
    for activity in problem.activities:
        if activity.fixed is None:
            old = ahead(before.stints.get(activity.key, ()), now)
            count += len(old)
            stood += len({*old} & {*placed.get(activity.key, ())})
    return Moved(count, count - stood)


class Trail:
    """From what moved to what was changed, step by step."""

    def __init__(
        self,
        problem: Problem,
        placed: Mapping[str, Sequence[Interval]],
        before: Before,
        edits: Sequence[Edit],
        now: int,
    ) -> None:
        self.problem, self.placed, self.before, self.now = problem, placed, before, now
        self.activities = {activity.key: activity for activity in problem.activities}
        self.only = tuple(edits)
        self.edits: dict[str, list[Edit]] = {}
        for edit in edits:
            for name in _names(edit):
                self.edits.setdefault(name, []).append(edit)

    def changed(self, key: str) -> bool:
        """Whether an activity's times ahead are not what they were."""
        was, is_now = self.before.stints.get(key, ()), self.placed.get(key, ())
        left = ahead(was, self.now)
        if key not in self.activities:
            return bool(left)
        if list(was) == list(is_now):
            return False
        # What is over and was not done has to have a time again.
        return not left or left != ahead(is_now, self.now)

    def because(self, key: str) -> Because:
        """The nearest thing that was changed and that this hangs on."""
        if not self.before.compares:
            return Because("The plan before kept no note of what it was made from.")
        ways: dict[str, tuple[str, ...]] = {key: ()}
        waiting = deque([key])
        while waiting:
            at = waiting.popleft()
            way = ways[at]
            if found := self.edits.get(at):
                return _told(found, [self.ref(step) for step in way[:-1]])
            things, activities = self.held(at)
            for name in things:
                if found := self.edits.get(name):
                    return _told(found, [self.ref(step) for step in way])
            for other in activities:
                if other not in ways and (self.changed(other) or other in self.edits):
                    ways[other] = (*way, other)
                    waiting.append(other)
        for at, way in ways.items():
            for name in self.hours(at) if self.forward(at) else ():
                if found := self.edits.get(name):
                    return _told(found, [self.ref(step) for step in way])
        return self.untraced(key)

    def held(self, key: str) -> tuple[list[str], list[str]]:
        """Things and activities that stand at an activity's old time, or stood before it."""
        things, activities = self.in_the_way(key)
        old = [thing(ref) for ref in self.before.held_by.get(key, ())]
        if self.forward(key):
            return [*old, *things], [*old, *activities]
        return [*things, *old], [*activities, *old]

    def hours(self, key: str) -> Iterable[str]:
        """The things whose hours an activity keeps: new ones let it come forward."""
        for calendar in self.problem.calendars:
            if key in self.activities and calendar.key in self.activities[key].calendars:
                yield f"calendar:{calendar.key}"
                yield from map(thing, calendar.by)

    def in_the_way(self, key: str) -> tuple[list[str], list[str]]:
        activity = self.activities.get(key)
        place = None if activity is None else self.old_place(key)
        if activity is None or place is None:
            return [], []
        found = blockers(self.problem, self.placed, activity, place)
        return (
            [name for blocker in found for name in blocker.things],
            [other for blocker in found for other in blocker.activities],
        )

    def old_place(self, key: str) -> Interval | None:
        """The first old stint that the new plan has not."""
        kept = {*self.placed.get(key, ())}
        left = ahead(self.before.stints.get(key, ()), self.now)
        return next((stint for stint in left if stint not in kept), None)

    def forward(self, key: str) -> bool:
        was, is_now = self.before.stints.get(key), self.placed.get(key)
        return is_now is not None and (not was or is_now[0] < was[0])

    def untraced(self, key: str) -> Because:
        """The trail ends at nothing that was changed: say what it made room for, or that the
        order is another one. Where one thing alone was changed, it is named for what it is."""
        _, activities = self.held(key)
        others = [self.ref(one) for one in activities if one != key and self.changed(one)]
        by = tuple(others[:1])
        if others and self.forward(key):
            sentence = f"It follows {others[0].name}, which has another time."
        elif others:
            sentence = f"It moves to make room for {others[0].name}."
        else:
            sentence = f"Nothing that was changed asks for it. {ANOTHER}"
        if len(self.only) == 1:
            (edit,) = self.only
            sentence = f"{edit.sentence} That alone was changed. {sentence if by else ANOTHER}"
            by = tuple(dict.fromkeys((edit.ref, *by)))
        return Because(sentence, by)

    def ref(self, key: str) -> Ref:
        activity = self.activities.get(key)
        return self.before.names[key] if activity is None else activity.ref


def _names(edit: Edit) -> Iterable[str]:
    """What a trail may call the thing that was changed."""
    kind = edit.ref.kind
    yield thing(edit.ref)
    if kind == "link":
        first, last = edit.on[0], edit.on[-1]
        yield from (f"tie:{first}>{last}", f"tie:{last}>{first}")
    elif kind == "task":
        # Where a visit does it, the visit is what is planned.
        yield from edit.on
    elif kind == "property":
        yield from ("calendar:loud", "calendar:outdoors")


def _told(found: Sequence[Edit], way: Sequence[Ref]) -> Because:
    """The changed things in their sentences, and the activities in between."""
    refs = dict.fromkeys([*(edit.ref for edit in found), *reversed(way)])
    sentence = " ".join(dict.fromkeys(edit.sentence for edit in found))
    if len(way) > MOST_SAID:
        sentence += f" It comes by way of {len(way)} others, {way[0].name} the last."
    elif way:
        sentence += f" It comes by way of {' and '.join(ref.name for ref in reversed(way))}."
    return Because(sentence, tuple(refs))


def _span(stints: Sequence[Interval]) -> Interval | None:
    return (stints[0][0], stints[-1][1]) if stints else None


def _sentence(trail: Trail, key: str, was: Interval | None, now: Interval | None, say: Say) -> str:
    name = trail.ref(key).name
    if now is None:
        gone = "has no place now" if key in trail.activities else "is not to be done any more"
        return f"{name} was planned {say(was[0])} and {gone}." if was else f"{name} has no place."
    if was is None:
        come = "has a place now" if key in trail.before.held_by else "is new"
        return f"{name} {come}: {say(now[0])}."
    carries_on = was[0] < trail.now == now[0] < was[1]
    if was[0] != now[0] and not carries_on:
        return f"{name} moves from {say(was[0])} to {say(now[0])}."
    if was[1] != now[1]:
        return f"{name} now ends {say(now[1])}, not {say(was[1])}."
    return f"{name} is spread otherwise between {say(now[0])} and {say(now[1])}."
