"""From a plan's complaints to what it keeps: sentences, figures, remedies that can be tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from apps.floors.words import listed
from apps.planning import contradiction_words as words
from apps.planning import remedy_search
from apps.planning.alerts import Alert
from apps.planning.clock import say_date
from apps.planning.complaints import Complaint, complaints
from apps.planning.contradiction_rules import Rule
from apps.planning.contradictions import Contradiction, contradictions
from apps.planning.loading.question import Question
from apps.planning.problem import QUARTER_MINUTES, Ref, Solution, Unplaced
from apps.planning.remedies import Remedy
from apps.planning.remedy_offers import offer
from apps.planning.remedy_rows import ref_of, remedy_row
from apps.planning.words import duration

# The effort that a plan of five seconds may spend on its remedies; a shorter one spends less.
FULL_EFFORT_SECONDS = 5.0
TAKERS_SAID = 3
BUSY = frozenset({"crew_busy", "tool_busy"})


@dataclass(frozen=True, slots=True)
class Help:
    """What a plan does not manage, what would help, and what cannot hold together."""

    remedies: dict[Complaint, tuple[Remedy, ...]]
    contradictions: tuple[Contradiction, ...]


def find_help(question: Question, solution: Solution, *, seconds: float) -> Help:
    """Remedies and contradictions of a solved question; both empty when all is managed.

    Args:
        seconds: the plan's own effort; remedies get their whole budget from five on.
    """
    found = complaints(question.problem, solution)
    if not found:
        return Help({}, ())
    share = min(1.0, seconds / FULL_EFFORT_SECONDS)
    return Help(
        remedy_search.remedies(
            question.problem, solution, found, offer(question),
            budget=round(share * remedy_search.BUDGET),
        ),
        contradictions(question.problem, solution, found, now=question.house.now),
    )  # fmt: skip


def unready_rows(question: Question, solution: Solution, found: Help) -> list[dict[str, Any]]:
    """Outsiders who come too soon, windows missed, waits that are too long."""
    return [
        {
            "about": asdict(ref_of(question, complaint.activity)),
            "kind": complaint.kind,
            "short_minutes": complaint.short * QUARTER_MINUTES,
            "short_working_minutes": complaint.working_short * QUARTER_MINUTES,
            "sentence": f"{_what(question, solution, complaint)} {_takers(complaint)}".strip(),
            "by": [asdict(by) for by in _by(question, complaint)],
            **help_fields(question, complaint, remedies),
        }
        for complaint, remedies in found.remedies.items()
        if complaint.kind != "unplaced"
    ]


def unplaced_help(question: Question, solution: Solution, found: Help) -> dict[str, dict[str, Any]]:
    """By activity key: the sentence of what has no place, who takes its time, what would help."""
    told = {row.activity: row for row in solution.unplaced}
    return {
        complaint.activity: {
            "sentence": _with_takers(told[complaint.activity], complaint),
            **help_fields(question, complaint, remedies),
        }
        for complaint, remedies in found.remedies.items()
        if complaint.kind == "unplaced"
    }


def _with_takers(row: Unplaced, complaint: Complaint) -> str:
    """Who takes the hours is said where hours are what is missing."""
    return f"{row.sentence} {_takers(complaint)}".strip() if row.code in BUSY else row.sentence


def help_fields(
    question: Question, complaint: Complaint, remedies: Sequence[Remedy]
) -> dict[str, Any]:
    return {
        "taken_by": [
            {"about": asdict(taken.ref), "minutes": taken.quarters * QUARTER_MINUTES}
            for taken in complaint.taken_by
        ],
        "remedies": [remedy_row(question, complaint, remedy) for remedy in remedies],
    }


def _by(question: Question, complaint: Complaint) -> tuple[Ref, ...]:
    if complaint.link is None:
        return ()
    first = ref_of(question, complaint.link.before)
    return tuple(dict.fromkeys([first, *complaint.link.by]))


def _what(question: Question, solution: Solution, complaint: Complaint) -> str:
    say = question.house.clock.say
    own = [s for s in solution.stints if s.activity == complaint.activity]
    name, begins = f"“{ref_of(question, complaint.activity).name}”", say(own[0].start)
    if complaint.link is None:
        wanted = say_date(question.house.clock.on(own[-1].end - complaint.short - 1))
        return f"{name} is wanted by {wanted}, and cannot be before {begins}."
    first = f"“{ref_of(question, complaint.link.before).name}”"
    if complaint.kind == "too_long":
        late = duration(complaint.short)
        return f"{name} comes {late} too long after {first}. {complaint.link.reason}".strip()
    before = [s.end for s in solution.stints if s.activity == complaint.link.before]
    if not before:
        return f"{name} on {begins} is not ready: {first} has no place in the plan."
    return (
        f"{name} on {begins} is short of {duration(complaint.working_short)} of working time: "
        f"{first} ends {say(max(before))}, {duration(complaint.short)} too late."
    )


def _takers(complaint: Complaint) -> str:
    """The tasks that occupy the time before, the longest first."""
    taken = complaint.taken_by
    if not taken:
        return ""
    said = [f"“{one.ref.name}” ({duration(one.quarters)})" for one in taken[:TAKERS_SAID]]
    if len(taken) > TAKERS_SAID:
        said.append(f"{len(taken) - TAKERS_SAID} more")
    return f"The hours go to {listed(said)}."


def contradiction_rows(question: Question, solution: Solution, found: Help) -> list[dict[str, Any]]:
    """What cannot hold together, circles of links first, each with its rules."""
    problem, say = question.problem, question.house.clock.say
    circles = [
        (words.circle(problem, circle),
         Contradiction(tuple(Rule("order", link.after, link) for link in circle), smallest=True))
        for circle in solution.circles
    ]  # fmt: skip
    return [
        {
            "sentence": sentence,
            "smallest": one.smallest,
            "needed_minutes": _minutes(one.needed),
            "available_minutes": _minutes(one.available),
            "rules": [
                {
                    "kind": rule.kind,
                    "sentence": words.words(problem, rule, say),
                    "about": [asdict(ref) for ref in words.about(problem, rule)],
                }
                for rule in one.rules
            ],
        }
        for sentence, one in [
            *circles,
            *((words.sentence(problem, one, say), one) for one in found.contradictions),
        ]
    ]


def _minutes(quarters: int | None) -> int | None:
    return None if quarters is None else quarters * QUARTER_MINUTES


def with_remedies(alerts: Sequence[Alert], unready: Sequence[dict[str, Any]]) -> list[Alert]:
    """The alert of an outsider who is not ready says what would help, the cheapest first."""
    cheapest = {
        (row["about"]["kind"], row["about"]["id"]): row["remedies"][0]["sentence"]
        for row in unready
        if row["remedies"]
    }
    return [
        replace(alert, sentence=f"{alert.sentence} {cheapest[about]}")
        if alert.code == "visit_unready"
        and (about := (alert.about[0].kind, alert.about[0].id)) in cheapest
        else alert
        for alert in alerts
    ]
