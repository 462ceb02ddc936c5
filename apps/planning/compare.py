"""Two plans side by side: what one does better, what has other times. Plain data in and out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

Side = Literal["plan", "against", "neither"]
Say = Callable[[datetime], str]
Stretch = tuple[datetime, datetime]
# Compared as instants instead: it is counted from the day on which each plan begins.
FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Thing:
    """What a plan gives a place: its kind, id, name and stints in order."""

    kind: str
    id: int
    name: str
    stints: tuple[Stretch, ...]

    @property
    def starts(self) -> datetime:
        return self.stints[0][0]

    @property
    def ends(self) -> datetime:
        return self.stints[-1][1]

    def ref(self) -> dict[str, Any]:
        return {"kind": self.kind, "id": self.id, "name": self.name}


@dataclass(frozen=True, slots=True)
class Shown:
    """A ready plan, as far as it is compared. `things` by kind and id; levels in minutes or
    counts by name, most important first; `unready` are the visits that are not prepared."""

    things: Mapping[tuple[str, int], Thing]
    levels: Mapping[str, int]
    unplaced: Sequence[Mapping[str, Any]]
    unready: frozenset[int]

    def finish(self) -> datetime | None:
        """When the last of the work ends; visits and looks do not count."""
        return max((t.ends for t in self.things.values() if t.kind == "task"), default=None)


def side_by_side(plan: Shown, against: Shown, say: Say) -> dict[str, Any]:
    """Everything that differs between two plans, the objective level by level.

    The better plan is the one with the lower value at the first level that differs, as the
    planner itself judges.
    """
    levels = [level_row(name, plan, against) for name in plan.levels if name in against.levels]
    first = next((row for row in levels if row["better"] != "neither"), None)
    better: Side = "neither" if first is None else first["better"]
    decided: str | None = None if first is None else first["level"]
    moved = list(moved_rows(plan, against, say))
    return {
        "better": better,
        "objective": levels,
        "finish": {"plan": plan.finish(), "against": against.finish()},
        "visits": list(visit_rows(plan, against, say)),
        "unplaced": {
            "only_plan": only(plan.unplaced, against.unplaced),
            "only_against": only(against.unplaced, plan.unplaced),
        },
        "moved": moved,
        "sentences": list(sentences(plan, against, better, decided, len(moved), say)),
    }


def level_row(name: str, plan: Shown, against: Shown) -> dict[str, Any]:
    here, there = plan.levels[name], against.levels[name]
    difference = here - there
    if name == FINISH:
        ends = plan.finish(), against.finish()
        difference = (
            round((ends[0] - ends[1]).total_seconds() / 60)
            if ends[0] is not None and ends[1] is not None
            else 0
        )
    return {
        "level": name, "plan": here, "against": there, "difference": difference,
        "better": side(difference),
    }  # fmt: skip


def side(difference: int) -> Side:
    """Less is better at every level."""
    return "neither" if difference == 0 else "plan" if difference < 0 else "against"


def visit_rows(plan: Shown, against: Shown, say: Say) -> Sequence[dict[str, Any]]:
    keys = dict.fromkeys(key for key in (*plan.things, *against.things) if key[0] == "visit")
    rows = []
    for key in keys:
        here, there = plan.things.get(key), against.things.get(key)
        either = here or there
        assert either is not None, "every key is of one of them"  # nosec B101
        rows.append(
            {
                "about": either.ref(),
                "plan": visit_side(here, plan),
                "against": visit_side(there, against),
                "sentence": (
                    f"{either.name}: {visit_words(here, plan, say)} here, "
                    f"{visit_words(there, against, say)} there."
                ),
            }
        )
    return rows


def visit_side(visit: Thing | None, plan: Shown) -> dict[str, Any] | None:
    if visit is None:
        return None
    return {"starts": visit.starts, "ends": visit.ends, "ready": visit.id not in plan.unready}


def visit_words(visit: Thing | None, plan: Shown, say: Say) -> str:
    if visit is None:
        return "no place"
    return f"{say(visit.starts)}{', not ready' if visit.id in plan.unready else ', ready'}"


def moved_rows(plan: Shown, against: Shown, say: Say) -> Sequence[dict[str, Any]]:
    """Activities whose stints differ, in order of the plan's times."""
    rows = []
    for key in dict.fromkeys([*plan.things, *against.things]):
        here, there = plan.things.get(key), against.things.get(key)
        either = here or there
        if either is None or (here and there and here.stints == there.stints):
            continue
        rows.append(
            {
                "about": either.ref(),
                "plan": times(here),
                "against": times(there),
                "sentence": moved_sentence(either.name, here, there, say),
            }
        )
    return sorted(rows, key=lambda row: (row["plan"] or row["against"])["starts"])


def times(thing: Thing | None) -> dict[str, datetime] | None:
    return None if thing is None else {"starts": thing.starts, "ends": thing.ends}


def moved_sentence(name: str, here: Thing | None, there: Thing | None, say: Say) -> str:
    if here is None or there is None:
        found, has, lacks = (here, "here", "there") if here else (there, "there", "here")
        assert found is not None, "one of the two has it"  # nosec B101
        return f"{name} is planned {say(found.starts)} {has} and has no place {lacks}."
    if here.starts != there.starts:
        return f"{name} starts {say(here.starts)} here, {say(there.starts)} there."
    if here.ends != there.ends:
        return f"{name} ends {say(here.ends)} here, {say(there.ends)} there."
    return f"{name} is spread otherwise between {say(here.starts)} and {say(here.ends)}."


def only(
    rows: Sequence[Mapping[str, Any]], others: Sequence[Mapping[str, Any]]
) -> list[Mapping[str, Any]]:
    """What has no place in one plan and has one (or is not to be done) in the other."""
    known = {(row["about"]["kind"], row["about"]["id"]) for row in others}
    return [row["about"] for row in rows
            if (row["about"]["kind"], row["about"]["id"]) not in known]  # fmt: skip


def sentences(
    plan: Shown, against: Shown, better: Side, decided: str | None, moved: int, say: Say
) -> Sequence[str]:
    """The comparison in a few sentences, the verdict first."""
    found = []
    if decided is None:
        found.append("By all that the planner counts, the two are as good as each other.")
    else:
        which = {"plan": "This plan", "against": "The other plan"}[better]
        found.append(f"{which} is better: {LEVEL_WORDS.get(decided, decided)}.")
    here, there = plan.finish(), against.finish()
    if here is not None and there is not None and here != there:
        found.append(f"The work ends {say(here)} here, {say(there)} there.")
    word = "thing has" if moved == 1 else "things have"
    found.append(f"{moved or 'No'} {word} other times.")
    return found


LEVEL_WORDS = {
    "unplaced": "less of the work is left without a place",
    "unready": "agreed visits and looks are better prepared",
    "late": "less is late",
    "disturbed": "less of what is about to be done is disturbed",
    "finish": "the work ends sooner",
    "open_nights": "a route is open on fewer nights",
    "breaks": "the work is broken off less often",
    "moved": "less moves against the plan before",
}
