"""Every joist of a floor checked at once, in a line each."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from apps.checks.joist import JoistInput, JoistOutcome, check_joist
from apps.checks.results import EDITION, Check, Note, salvaged_cautions
from apps.floors.joist_inputs import USUAL, FloorLoads, as_it_is, spans_of
from apps.floors.models import Floor, Joist
from apps.floors.words import listed


@dataclass(frozen=True, slots=True, kw_only=True)
class JoistLine:
    """One joist over its worst span, in short; the whole check is one `checks/joist/` away.

    Attributes:
        from_mm, to_mm: the clear span, from the joist's first point.
        passes: None: no capacity is given until it is inspected, or there is nothing to check.
        utilisation: of the governing check; each of `utilisations` by its code.
        governing: the check nearest its limit or furthest over it.
    """

    joist: int
    mark: str
    condition: str
    from_mm: int | None = None
    to_mm: int | None = None
    passes: bool | None = None
    utilisation: float | None = None
    governing: Check | None = None
    utilisations: dict[str, float]
    greatest_span_mm: int | None = None
    smallest_section: tuple[int, int] | None = None
    blocked: tuple[Note, ...] = ()
    warnings: tuple[Note, ...] = ()
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorChecked:
    """A floor's joists as they lie, with what was taken for granted."""

    floor: int
    edition: str
    assumed: dict[str, Any]
    joists: tuple[JoistLine, ...]
    cautions: tuple[str, ...]
    sentence: str


def check_floor(floor: Floor, loads: FloorLoads = USUAL) -> FloorChecked:
    """Check every joist of a floor. Equal joists are worked out once."""
    known: dict[JoistInput, JoistOutcome] = {}
    rows = floor.joists.select_related("floor__storey").prefetch_related("probes").order_by("pk")
    lines = tuple(joist_line(joist, loads, known) for joist in rows)
    return FloorChecked(
        floor=floor.pk,
        edition=EDITION,
        assumed=asdict(loads),
        joists=lines,
        cautions=salvaged_cautions("assumed"),
        sentence=in_words(floor, lines),
    )


def joist_line(joist: Joist, loads: FloorLoads, known: dict[JoistInput, JoistOutcome]) -> JoistLine:
    """A joist over its worst span: blocked before failed before passed."""
    head: dict[str, Any] = {"joist": joist.pk, "mark": joist.mark, "condition": joist.condition}
    if joist.condition == Joist.Condition.MISSING:
        return JoistLine(**head, utilisations={}, sentence=f"{joist} is not there.")
    found = []
    for span in spans_of(joist):
        try:
            given = as_it_is(joist, span, loads)
            if given not in known:
                known[given] = check_joist(given)
        except ValueError as exc:
            why = Note("no-figures", str(exc))
            return JoistLine(
                **head, utilisations={}, blocked=(why,), sentence=f"{joist}: {exc}"
            )  # fmt: skip
        found.append((known[given], span))
    worst, span = max(found, key=lambda one: rank(one[0]))
    outcome = worst.outcome
    governing = next((c for c in outcome.checks if c.code == outcome.governing), None)
    return JoistLine(
        **head,
        from_mm=span.from_mm,
        to_mm=span.to_mm,
        passes=outcome.passes,
        utilisation=governing.utilisation if governing else None,
        governing=governing,
        utilisations={check.code: check.utilisation for check in outcome.checks},
        greatest_span_mm=worst.greatest_span_mm,
        smallest_section=worst.smallest_section,
        blocked=outcome.blocked,
        warnings=outcome.warnings,
        sentence=outcome.sentence.replace("The joist", str(joist), 1),
    )


def rank(found: JoistOutcome) -> tuple[float, int]:
    """How bad: no capacity at all is the worst, the more so for more reasons."""
    used_up = [check.utilisation for check in found.outcome.checks]
    return max(used_up, default=float("inf")), len(found.outcome.blocked)


def in_words(floor: Floor, lines: tuple[JoistLine, ...]) -> str:
    """The floor in a sentence or two, the gravest first."""
    if not lines:
        return f"{floor} has no joists noted: set it out first."
    unknown = [line.mark for line in lines if line.blocked]
    failed = [line.mark for line in lines if line.passes is False]
    said = []
    if unknown:
        said.append(f"{listed(unknown)}: no capacity is given until inspected.")
    if failed:
        worst = max((line for line in lines if line.passes is False), key=used)
        said.append(
            f"{listed(failed)} {'do' if len(failed) > 1 else 'does'} not pass; the worst is "
            f"{worst.mark} at {used(worst):.0%}."
        )
    passed = sum(line.passes is True for line in lines)
    said.append(f"{passed} of {len(lines)} pass as assumed.")
    return " ".join(said)


def used(line: JoistLine) -> float:
    return line.utilisation or 0.0
