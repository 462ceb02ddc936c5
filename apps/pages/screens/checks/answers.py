"""The answer of a check as it is read: verdict, bars with clauses, what to know, cautions."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from apps.checks.results import CAUTIONS, Check, Note
from apps.pages.screens.checks.words import in_words, split

VERDICTS = {
    True: ("good", "Passes"),
    False: ("stop", "Does not pass"),
    None: ("act", "Cannot be said: have it inspected, ask an engineer"),
}
NEEDS = {
    "flush": "As good as flush",
    "ramp_strip": "It needs a ramp strip",
    "step": "It is a proper step",
}
FACTS = {
    "by_run_mm2": "By the length of the walls",
    "by_area_mm2": "By the area of the floor",
    "required_mm2": "Wanted in all",
    "provided_mm2": "There is",
    "greatest_span_mm": "Longest clear span that would do",
    "least_lap_mm": "Shortest lap that does",
    "planed_mm": "Planed off in all",
    "height_mm": "The joists' tops come to",
}
MOST_AT_ONCE = 3
"""Bars that are seen without a tap: the nearest their limit."""
NOT_FACTS = frozenset({"outcome", "given", "figures", "sentence", "edition", "lap_mm", "drawing"})


@dataclass(frozen=True, slots=True)
class Bar:
    """One demand against its limit."""

    check: Check

    @property
    def share(self) -> int:
        return min(100, round(self.check.utilisation * 100))

    @property
    def words(self) -> str:
        return f"{self.check.utilisation * 100:.0f} % of the limit used"

    @property
    def over(self) -> bool:
        return not self.check.passes


@dataclass(frozen=True, slots=True)
class Shown:
    """What the page says of an answer.

    Attributes:
        facts: (name, value with unit), the few that answer the question.
        figures: the same of numbers on the way.
        notes: what to do or know, gravest first.
    """

    tone: str
    verdict: str
    sentence: str
    bars: tuple[Bar, ...]
    notes: tuple[Note, ...]
    facts: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    edition: str

    @property
    def worst(self) -> tuple[Bar, ...]:
        return self.bars[:MOST_AT_ONCE]

    @property
    def others(self) -> tuple[Bar, ...]:
        return self.bars[MOST_AT_ONCE:]


def shown(name: str, answer: Any) -> Shown:
    """An answer of any calculator."""
    heart = {"cuts": "joist", "fixing": "fixing"}.get(name)
    main = getattr(answer, heart) if heart else answer
    outcome = getattr(main, "outcome", None)
    checks = outcome.checks if outcome else tuple(filter(None, (getattr(main, "check", None),)))
    tone, verdict = verdict_of(name, answer, main)
    drilling = getattr(answer, "drilling", None)
    cautions = (outcome or main).cautions + (drilling.cautions if drilling else ())
    return Shown(
        tone=tone,
        verdict=verdict,
        sentence=getattr(answer, "sentence", None) or (outcome or main).sentence,
        bars=tuple(Bar(one) for one in sorted(checks, key=lambda one: -one.utilisation)),
        notes=notes_of(answer, outcome),
        facts=facts_of(main),
        figures=tuple(named(key, value) for key, value in getattr(main, "figures", {}).items()),
        cautions=tuple(dict.fromkeys(cautions or CAUTIONS)),
        edition=getattr(outcome or main, "edition", ""),
    )


def verdict_of(name: str, answer: Any, main: Any) -> tuple[str, str]:
    """How it looks and what it says, in a few words."""
    outcome: Any = getattr(main, "outcome", None)
    check: Any = getattr(main, "check", None)
    if name == "cuts" and answer.by_rule and outcome.passes:
        return "act", "Passes by calculation, but outside the rules of thumb: ask an engineer"
    if outcome is not None or check is not None:
        return VERDICTS[(outcome or check).passes]
    if name == "levels":
        return VERDICTS[answer.possible] if answer.possible is not True else (
            "good", "Can be levelled with these packers"
        )  # fmt: skip
    if name == "doorway":
        return ("good" if answer.needs == "flush" else "watch"), NEEDS.get(
            answer.needs, in_words(answer.needs)
        )
    if name == "decay":
        return decay_verdict(answer)
    if name == "membrane":
        rolls = answer.best.rolls
        return "good", f"{rolls} roll{'s' if rolls != 1 else ''}"
    return "watch", "No force was given: nothing is compared"


def decay_verdict(answer: Any) -> tuple[str, str]:
    if any(cut.keep_to_mm is None and cut.keep_from_mm is None for cut in answer.cut_backs):
        return VERDICTS[None]
    if answer.cut_backs:
        return "act", "Rotten: cut back to sound wood"
    if answer.probe_next or not answer.places:
        return "act", "Cannot be said yet: probe further"
    return "good", "Sound as far as it was probed"


def notes_of(answer: Any, outcome: Any) -> tuple[Note, ...]:
    """Whatever the answer says besides its sentence, each once."""
    found: list[Note] = []
    if outcome is not None:
        found += [*outcome.blocked, *outcome.warnings]
    drilling = getattr(answer, "drilling", None)
    found += getattr(answer, "by_rule", ())
    if drilling is not None:
        found += [Note("drilling", drilling.sentence), *drilling.refused, *drilling.warnings]
    for name in ("cut_backs", "sides", "dead_corners", "broken"):
        found += [Note(name, one.sentence) for one in getattr(answer, name, ())]
    for name in ("not_counted", "notes", "warnings"):
        found += getattr(answer, name, ())
    if fixings := getattr(answer, "fixings", None):
        found.append(Note("fixings", fixings.sentence))
    return tuple({one.sentence: one for one in found if one.sentence}.values())


def facts_of(main: Any) -> tuple[tuple[str, str], ...]:
    """The numbers that an answer itself holds, named by its dataclass."""
    found = []
    for one in fields(main):
        value = getattr(main, one.name)
        if one.name in NOT_FACTS or value is None or isinstance(value, bool):
            continue
        if isinstance(value, int | float):
            found.append(named(one.name, value))
        elif one.name == "smallest_section":
            found.append(("Smallest stock section that would do", f"{value[0]} × {value[1]} mm"))
    return tuple(found)


def named(name: str, value: float) -> tuple[str, str]:
    stem, unit = split(name)
    number = f"{value:.4g}" if abs(value) < 10_000 else f"{value:.0f}"
    return FACTS.get(name) or in_words(stem), f"{number.replace('-', '−')} {unit}".rstrip()
