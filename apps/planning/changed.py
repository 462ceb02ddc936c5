"""The plan before against the new one: from rows and facts to the changes that are kept."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import asdict
from datetime import datetime
from typing import Any

from apps.planning.changes import Before, changes, moved
from apps.planning.clock import Clock, say
from apps.planning.edits import Edit, PlannedPast, edits
from apps.planning.inputs import Inputs, inputs_of
from apps.planning.loading.house import read_house
from apps.planning.loading.question import Question, stint_key
from apps.planning.loading.question import question as ask
from apps.planning.models import Plan
from apps.planning.problem import QUARTER_MINUTES, Interval, Ref, Solution
from apps.property.models import Property


def against_previous(
    question: Question, solution: Solution, previous: Plan | None
) -> dict[str, Any]:
    """The fields `inputs`, `changes` and `moved` of a new plan."""
    facts = inputs_of(question)
    if previous is None:
        return {"inputs": facts, "changes": [], "moved": None}
    clock, now = question.house.clock, question.house.now
    placed = spans_of(solution)
    before = read_before(question, previous)
    found = changes(
        question.problem,
        placed,
        before,
        edits_since(question, previous, before, facts),
        now=now,
        say=clock.say,
    )
    share = moved(question.problem, placed, before, now=now)
    return {
        "inputs": facts,
        "changes": [change.as_dict(clock.at) for change in found],
        "moved": {**asdict(share), "share": share.share, "sentence": share.sentence},
    }


def edits_since(question: Question, previous: Plan, before: Before, facts: Inputs) -> list[Edit]:
    """What of the record differs from what the plan before was made from."""
    clock, now = question.house.clock, question.house.now
    return edits(
        previous.inputs,
        facts,
        past=planned_past(before, previous.inputs, clock, now),
        today=clock.on(now),
        say=lambda instant: say(clock.local(instant)),
    )


def edited_since(house: Property, previous: Plan, *, now: datetime) -> bool:
    """Whether anything that a plan depends on was changed since this one was made."""
    read = read_house(house, as_of=now, horizon_days=previous.horizon_days)
    asked = ask(read, previous=previous)
    before = read_before(asked, previous)
    return bool(edits_since(asked, previous, before, inputs_of(asked)))


def spans_of(solution: Solution) -> dict[str, list[Interval]]:
    found: dict[str, list[Interval]] = defaultdict(list)
    for stint in sorted(solution.stints, key=lambda stint: stint.start):
        found[stint.activity].append((stint.start, stint.end))
    return dict(found)


def read_before(question: Question, previous: Plan) -> Before:
    """The plan before on the new plan's clock. What a visit does by now goes with the visit."""
    clock = question.house.clock
    stints: dict[str, list[Interval]] = defaultdict(list)
    held_by: dict[str, list[Ref]] = defaultdict(list)
    names: dict[str, Ref] = {}
    for row in previous.stints.order_by("starts").select_related(
        "task", "visit__trade", "inspection"
    ):
        key = stint_key(row)
        if question.aliases.get(key, key) != key:
            continue
        stints[key].append((clock.floor(row.starts), clock.ceil(row.ends)))
        held_by[key] += refs(row.why_not_sooner["by"])
        kind, _, pk = key.partition(":")
        names[key] = Ref(kind, int(pk), str(row.task or row.visit or row.inspection))
    for row in previous.unplaced:
        held_by[f"{row['about']['kind']}:{row['about']['id']}"] += refs(row["by"])
    return Before(dict(stints), dict(held_by), names, compares=bool(previous.inputs))


def refs(rows: list[dict[str, Any]]) -> list[Ref]:
    return [Ref(**row) for row in rows]


def planned_past(before: Before, facts: Inputs, clock: Clock, now: int) -> dict[str, PlannedPast]:
    """What the plan before had put before now for each task that was still to be done."""
    found = {}
    for key, stints in before.stints.items():
        begun = [(start, min(end, now)) for start, end in stints if start < now]
        if begun and "minutes" in facts.get(key, {}):
            around = facts[key]["around"] * len(begun)
            minutes = QUARTER_MINUTES * sum(end - start for start, end in begun) - around
            since: datetime = clock.at(begun[-1][0])
            found[key] = PlannedPast(max(0, minutes), since)
    return found
