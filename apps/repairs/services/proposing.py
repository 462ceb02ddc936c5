"""Proposing repairs: nothing is written."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from apps.floors.models import Joist
from apps.floors.shapes import Board, points
from apps.repairs import loading
from apps.repairs.damage import Damage, damage
from apps.repairs.facts import Asked, JoistFacts
from apps.repairs.members import old_section, worst_member
from apps.repairs.options import Design, Priced, Proposal, Ranked, mark_of
from apps.repairs.ranking import ranked
from apps.repairs.steps import PROPPING, links, steps
from apps.repairs.supplies import Stock, sections, supplies
from apps.work.models import Finding
from apps.work.places import area_mm2
from renovation.errors import Problem, field_problem

DOWN = frozenset({"fixed", "loose"})
MM2_PER_M2 = 1_000_000
CAUTIONS: tuple[str, ...] = (
    (
        "These are options for the one who decides, not a design: the building control body, and "
        "where they ask for one a chartered engineer, say what is built and what must be seen."
    ),
    "Durations are common practice, no source: put them right as you go.",
    (
        "A mask, gloves and eye protection for old dust; old paint may hold lead. Anything that "
        "may be asbestos is left alone until a competent person has sampled it."
    ),
)


def propose(*, joist: Joist, asked: Asked, today: date) -> Proposal:
    """Every way to repair a joist, worked out and ranked.

    Raises:
        Problem: `asbestos-suspected`; `span-unknown`; `nothing-to-repair`; `invalid` for
            figures that no joist has.
    """
    found = loading.open_findings(joist)
    refuse_asbestos(joist, found)
    facts = loading.joist_facts(joist)
    if not facts.clear_spans():
        raise Problem(
            "span-unknown",
            f"{joist} has fewer than two bearings noted, so nobody knows what it spans: measure "
            "where it bears and note `bearings` on it.",
        )
    try:
        harm = damage(facts, asked)
        if not harm.found:
            raise Problem(
                "nothing-to-repair",
                f"Nothing is noted on {joist} that a repair could start from. {harm.sentence}",
            )
        return worked_out(joist, facts, asked, harm, found, today)
    except ValueError as exc:
        raise field_problem("", str(exc)) from exc


def refuse_asbestos(joist: Joist, found: list[Finding]) -> None:
    suspected = [row for row in found if row.kind == Finding.Kind.ASBESTOS_SUSPECTED]
    if suspected:
        raise Problem(
            "asbestos-suspected",
            f"“{suspected[0]}” is not decided: nothing is proposed at {joist} until a competent "
            "person has sampled it. Keep out.",
            findings=[{"id": row.pk, "title": row.title} for row in suspected],
        )


def worked_out(
    joist: Joist,
    facts: JoistFacts,
    asked: Asked,
    harm: Damage,
    found: list[Finding],
    today: date,
) -> Proposal:
    from apps.repairs.proposals import designs  # noqa: PLC0415 (numpy)

    stock = loading.stock(joist.floor.property, today)
    made = designs(facts, asked, harm, sections(facts, asked, stock))
    options = ranked([priced(joist, facts, design, stock) for design in made])
    best = options[0].priced.design
    verdict = {
        True: f"{best.title} comes first.",
        None: f"{best.title} comes first, once what blocks its check has been inspected.",
        False: "No option passes as it stands: ask a chartered engineer.",
    }[best.passes]
    return Proposal(
        facts=facts,
        asked=asked,
        evidence=mark_of(facts, asked, made),
        damage=harm,
        options=options,
        propping=PROPPING,
        cautions=tuple(dict.fromkeys([*CAUTIONS, *harm.cautions, *outcome_cautions(options)])),
        warnings=(
            *harm.warnings,
            *too_small_anyway(facts, asked),
            *(
                f"“{row}” is not decided: leave it alone until a registered person has looked."
                for row in found
                if row.kind in loading.LEFT_ALONE
            ),
        ),
        sentence=f"{harm.sentence} {verdict}",
    )


def too_small_anyway(facts: JoistFacts, asked: Asked) -> tuple[str, ...]:
    """Old joists are often too small for today's rules: then mending one does not make it pass."""
    sound = worst_member("the old joist", facts, asked, old_section(facts, asked))
    if sound.outcome.passes:
        return ()
    because = "That is its section and span, not the decay."
    return (
        f"Even sound and uncut, {facts.mark} would not pass: {sound.outcome.sentence} {because}",
    )


def outcome_cautions(options: Sequence[Ranked]) -> list[str]:
    return [
        caution
        for option in options
        for check in option.priced.design.checks
        for caution in check.outcome.cautions
    ]


def priced(joist: Joist, facts: JoistFacts, design: Design, stock: Stock) -> Priced:
    """A design with its opening, tasks and timber."""
    from apps.repairs.openings import opening  # noqa: PLC0415 (shapely, 120 ms)

    if not design.possible:
        return Priced(design=design)
    start, end = points(joist.line)
    area = opening(
        (start, end), *design.opened, reach_mm=facts.centres_mm, outline=joist.floor.outline
    )
    boards = loading.opened_boards(loading.floor_boards(joist.floor), area)
    down = [board for board in boards if board.state in DOWN]
    tasks = steps(
        design.option,
        mark=facts.mark,
        ends=len(design.cut_back),
        fit_note=" ".join([*(row["sentence"] for row in design.fixings), *design.warnings]),
        cut_note=" ".join(row["sentence"] for row in design.cut_back),
        lift_m2=m2(down),
        lay_m2=m2(boards),
    )
    return Priced(
        design=design,
        steps=tasks,
        links=links(tasks),
        area=points(area),
        boards=tuple(board.id for board in boards),
        boards_down=tuple(board.id for board in down),
        supplies=supplies(design, stock),
    )


def m2(boards: Sequence[Board]) -> float:
    """The area of some boards [m²]."""
    return sum(area_mm2(board.outline, 0) for board in boards) / MM2_PER_M2
