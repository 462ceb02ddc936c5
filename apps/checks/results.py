"""What every check answers with: demand against capacity, the clause, and a plain sentence.

A result is a preliminary check, never a design. Where something must be looked at first, no
capacity is given at all: the outcome is blocked and says why.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

EDITION = "EN 1995-1-1:2004+A1:2008+A2:2014 with the UK National Annex"

CAUTIONS: tuple[str, ...] = (
    (
        "This is a preliminary check, not a design: unusual loads, changes to load-bearing "
        "structure and anything sent to building control need a competent person."
    ),
    (
        "Look for old notches, mortices and bolt holes and enter them: a joist is as strong as "
        "its worst section."
    ),
    "Rot is worst at the built-in ends, where it is hidden: probe both bearings.",
    "Prop a joist before cutting it or taking it off its bearing.",
    "The building control body and, where it matters, a chartered engineer decide.",
)
SALVAGED_CAUTIONS: tuple[str, ...] = (
    "Nails, fire damage and beetle take section away: probe, and measure what is left.",
    "Knots at an edge in the middle third are the worst ones: look at all four faces.",
    "Re-sawing a piece voids any earlier grade.",
    "Old paint and treatment may hold lead, arsenic or creosote: keep the dust out of the lungs.",
    "Building control may refuse timber that nobody has graded.",
    "Measure how long each end really bears, on sound timber.",
)
# How a strength class is known, as it is said to the reader.
GRADE_BASES: dict[str, str] = {
    "stamped": "stamped on the piece",
    "graded_by": "given by a named grader",
    "assumed": "assumed, not graded",
}


@dataclass(frozen=True, slots=True)
class Note:
    """A warning, or the reason why no capacity is given.

    Attributes:
        code: trade words with hyphens, for programs.
        sentence: for people.
        source: where the rule comes from; empty where the sentence says it.
    """

    code: str
    sentence: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Check:
    """One demand against one capacity, both in `unit`.

    `utilisation` is how much of the limit is used: 1.0 is full. It is finite always.
    """

    code: str
    sentence: str
    demand: float
    capacity: float
    unit: str
    utilisation: float
    passes: bool
    clause: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """All checks of one question.

    Attributes:
        edition: the code they follow.
        checks: every check made; empty when blocked.
        governing: code of the check that is nearest its limit or furthest over it.
        passes: None when blocked.
        blocked: why no capacity is given.
        warnings: what to know besides.
        cautions: shown with every result.
        sentence: all of it for a tired person.
    """

    edition: str
    checks: tuple[Check, ...]
    governing: str | None
    passes: bool | None
    blocked: tuple[Note, ...] = ()
    warnings: tuple[Note, ...] = ()
    cautions: tuple[str, ...] = field(default=CAUTIONS)
    sentence: str = ""


def against(
    code: str,
    what: str,
    *,
    demand: float,
    capacity: float,
    unit: str,
    clause: str,
    at_least: bool = False,
) -> Check:
    """A check of a demand that may not exceed its capacity (or, `at_least`, may not fall below).

    Args:
        code: of the check.
        what: what is compared, as a sentence begins: "Bending".
        demand, capacity: in `unit`.
        clause: of the code, with its edition where it is another than `EDITION`.
        at_least: the demand has to reach the limit (a frequency): utilisation is limit / demand.

    Raises ValueError where either is not a finite positive number (a demand may be 0).
    """
    if not (math.isfinite(demand) and math.isfinite(capacity)):
        raise ValueError(f"{what}: the figures given lead to no finite number.")
    bottom, top = (demand, capacity) if at_least else (capacity, demand)
    if bottom <= 0 or top < 0:
        raise ValueError(f"{what}: the figures given leave nothing to check against.")
    utilisation = top / bottom
    if not math.isfinite(utilisation):
        raise ValueError(f"{what}: the figures given lead to no finite number.")
    passes = utilisation <= 1.0
    verb = "reaches" if at_least else "is"
    limit = "at least" if at_least else "at most"
    sentence = (
        f"{what} {verb} {_figure(demand)} {unit}; {limit} {_figure(capacity)} {unit} "
        f"{'wanted' if at_least else 'allowed'}: {'passes' if passes else 'fails'} "
        f"({utilisation:.0%} of the limit used)."
    )
    return Check(code, sentence, demand, capacity, unit, utilisation, passes, clause)


def outcome(
    what: str,
    checks: tuple[Check, ...],
    *,
    blocked: tuple[Note, ...] = (),
    warnings: tuple[Note, ...] = (),
    cautions: tuple[str, ...] = CAUTIONS,
) -> Outcome:
    """Checks put together: the governing one, whether all pass, and one sentence.

    Args:
        what: the thing checked, as a sentence begins: "The joist".
        blocked: not empty: no check is kept, and no capacity is given.
    """
    if blocked or not checks:
        why = " ".join(note.sentence for note in blocked) or "There was nothing to check."
        sentence = f"{what} is given no capacity until it is inspected. {why}"
        return Outcome(EDITION, (), None, None, blocked, warnings, cautions, sentence)
    worst = max(checks, key=lambda check: check.utilisation)
    passes = all(check.passes for check in checks)
    verdict = "passes" if passes else "does not pass"
    nearest = worst.sentence[0].lower() + worst.sentence[1:]
    sentence = f"{what} {verdict}. Nearest the limit: {nearest}"
    return Outcome(EDITION, checks, worst.code, passes, (), warnings, cautions, sentence)


def salvaged_cautions(grade_basis: str) -> tuple[str, ...]:
    """The cautions of a result, with those for timber that carries no stamp.

    Args:
        grade_basis: "stamped", "graded_by" or "assumed"; others raise ValueError.
    """
    if grade_basis not in GRADE_BASES:
        raise ValueError(f"How the class is known is one of {', '.join(GRADE_BASES)}.")
    if grade_basis == "stamped":
        return CAUTIONS
    first = (
        "This timber is not graded: its strength class is an assumption, not a fact.",
    ) if grade_basis == "assumed" else ()  # fmt: skip
    return (*first, *CAUTIONS, *SALVAGED_CAUTIONS)


def _figure(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"
