"""A remedy as a plan keeps it: what to do, what it does, and the supposition that tries it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from apps.floors.words import listed
from apps.planning.complaints import Complaint
from apps.planning.loading.hours import CREW
from apps.planning.loading.question import Question
from apps.planning.models import Person
from apps.planning.problem import QUARTER_MINUTES, Ref
from apps.planning.remedies import Remedy
from apps.planning.remedy_offers import task_of
from apps.planning.words import duration


def ref_of(question: Question, key: str) -> Ref:
    """How sentences name an activity."""
    return next(one.ref for one in question.problem.activities if one.key == key)


def remedy_row(question: Question, complaint: Complaint, remedy: Remedy) -> dict[str, Any]:
    before, after, change = remedy.before, remedy.after, remedy.change
    clock = question.house.clock
    stretches = [change.place] if change.place else change.windows
    about = _remedy_about(question, remedy)
    return {
        "kind": change.kind,
        "about": None if about is None else asdict(about),
        "times": [
            {"starts": clock.at(a).isoformat(), "ends": clock.at(b).isoformat()}
            for a, b in stretches
        ],
        "sentence": f"{_do(question, remedy)}: {_effect(question, complaint, remedy)}.",
        "price_minutes": remedy.price,
        "effect": {
            "short_before_minutes": before.short * QUARTER_MINUTES,
            "short_after_minutes": after.short * QUARTER_MINUTES,
            "moved_minutes": QUARTER_MINUTES * remedy.size if change.kind == "move_visit" else 0,
            "unplaced_minutes": QUARTER_MINUTES * (after.unplaced - before.unplaced),
            "unready_minutes": QUARTER_MINUTES * (after.unready - before.unready),
            "late_minutes": QUARTER_MINUTES * (after.late - before.late),
            "finish_minutes": QUARTER_MINUTES * (after.finish - before.finish),
        },
        "what_if": what_if(question, remedy),
    }


def _remedy_about(question: Question, remedy: Remedy) -> Ref | None:
    if remedy.change.kind == "add_evening":
        return next((c.by[0] for c in question.problem.calendars if c.key == CREW and c.by), None)
    return ref_of(question, remedy.change.activity or "")


def _do(question: Question, remedy: Remedy) -> str:
    """What to do, as one would say it."""
    change = remedy.change
    clock = question.house.clock
    about = _remedy_about(question, remedy)
    name = "" if about is None else f"“{about.name}”"
    if change.kind == "move_visit" and change.place is not None:
        agreed = any(a.fixed for a in question.problem.activities if a.key == change.activity)
        when = clock.say(change.place[0])
        return f"Move {name} to {when}" if agreed else f"Agree {name} for {when}"
    if change.kind == "add_evening":
        days = [f"{clock.say(a)}–{clock.local(clock.at(b)):%H:%M}" for a, b in change.windows]
        more = "one evening" if len(days) == 1 else f"{len(days)} evenings"
        return f"Work {more} more, {listed(days)}"
    if change.kind == "bring_helper":
        a, b = change.windows[0]
        return f"Have a helper for {name} on {clock.say(a)}–{clock.local(clock.at(b)):%H:%M}"
    if change.kind == "split_task":
        return f"Do {name} in more than one go, if the work allows it"
    if change.kind == "drop_link" and change.link is not None:
        return f"Take out the link from “{ref_of(question, change.link.before).name}” to {name}"
    return f"Leave {name} for another time"


ENDED = {
    "unready": "all is ready",
    "window": "all is ready for it",
    "too_long": "the wait is kept",
    "unplaced": "all of it has a place",
}


def _effect(question: Question, complaint: Complaint, remedy: Remedy) -> str:
    before, after = remedy.before, remedy.after
    said = [ENDED[complaint.kind]]
    if after.short:
        said = [f"{duration(after.short)} are short instead of {duration(before.short)}"]
    if after.late > before.late:
        said.append(f"due dates are missed by {duration(after.late - before.late)} more")
    later = after.finish - before.finish
    if later > 0:
        said.append(f"the finish moves by {duration(later)}")
    elif later < 0:
        said.append(f"the finish comes {duration(-later)} sooner")
    else:
        said.append("the finish stays")
    return ", ".join(said)


def what_if(question: Question, remedy: Remedy) -> dict[str, Any] | None:
    """The supposition that tries a remedy with `POST plans/`; None where there is none."""
    change, house = remedy.change, question.house
    pk = int((change.activity or ":0").partition(":")[2])
    if change.kind == "move_visit" and change.place and (change.activity or "").startswith("visit"):
        starts, ends = (house.clock.at(at).isoformat() for at in change.place)
        return {"visits": [{"id": pk, "starts": starts, "ends": ends}]}
    if change.kind == "drop_task":
        return {"drop_tasks": [pk]}
    people = _who_comes(question, remedy)
    if not people or change.kind not in {"add_evening", "bring_helper"}:
        return None
    return {
        "more_hours": [
            {
                "person": person.pk,
                "date": f"{starts:%Y-%m-%d}",
                "starts": f"{starts:%H:%M}",
                "ends": f"{ends:%H:%M}",
            }
            for a, b in change.windows
            for starts, ends in [[house.clock.local(house.clock.at(at)) for at in (a, b)]]
            for person in people
        ]
    }


def _who_comes(question: Question, remedy: Remedy) -> list[Person]:
    """The crew for an evening; for help, as many helpers as the task takes, if there are any."""
    people = question.house.people
    if remedy.change.kind == "add_evening":
        return [person for person in people if person.role == Person.Role.CREW][:1]
    task = task_of(question.house, remedy.change.activity or "")
    helpers = [person for person in people if person.role == Person.Role.HELPER]
    wanted = task.people - 1 if task is not None else 1
    return helpers[:wanted] if len(helpers) >= wanted else []
