"""A proposal as it is answered and kept: plain values only."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from apps.checks.decay_stretches import Stretch
from apps.checks.results import Note, Outcome
from apps.repairs.options import Checked, NewTimber, Proposal, Ranked
from apps.repairs.steps import Step
from apps.work.ready import ReadyLink


def proposal_answer(proposal: Proposal) -> dict[str, Any]:
    """All options, the best first."""
    found = proposal.damage
    return {
        "joist": proposal.facts.id,
        "mark": proposal.facts.mark,
        "evidence": proposal.evidence,
        "sentence": proposal.sentence,
        "damage": {
            "sentence": found.sentence,
            "allowance": found.allowance,
            "keep": list(found.keep) if found.keep else None,
            "cuts": [asdict(cut) for cut in found.ends],
            "middle": [{"from_mm": low, "to_mm": high} for low, high in found.middle],
            "probe_next": [
                {"from_mm": part.from_mm, "to_mm": part.to_mm, "sentence": probe_in_words(part)}
                for part in found.probe_next
            ],
        },
        "options": [option_answer(option) for option in proposal.options],
        "propping": list(proposal.propping),
        "warnings": list(proposal.warnings),
        "cautions": list(proposal.cautions),
    }


def probe_in_words(part: Stretch) -> str:
    return f"Probe from {part.from_mm} to {part.to_mm} mm: {part.sentence}"


def option_answer(ranked: Ranked) -> dict[str, Any]:
    """One option, whole: also what a repair keeps of it."""
    priced, design = ranked.priced, ranked.priced.design
    return {
        "rank": ranked.rank,
        "option": design.option,
        "title": design.title,
        "possible": design.possible,
        "passes": design.passes,
        "why": ranked.why,
        "cut_back": [dict(cut) for cut in design.cut_back],
        "timber": [
            timber_answer(piece) | {"supply": supply}
            for piece, supply in zip(
                design.timber, [supply_answer(row) for row in priced.supplies], strict=True
            )
        ],
        "fixings": [dict(row) for row in design.fixings],
        "checks": [checked_answer(check) for check in design.checks],
        "tasks": [step_answer(step) for step in priced.steps],
        "links": [link_answer(link) for link in priced.links],
        "area": [list(point) for point in priced.area],
        "boards": list(priced.boards),
        "boards_down": list(priced.boards_down),
        "inspection": INSPECTION if design.possible else None,
        "deviation": dict(design.deviation) if design.deviation else None,
        "minutes": priced.minutes,
        "cost_pence": priced.cost_pence,
        "from_pile": priced.from_pile,
        "warnings": list(design.warnings),
    }


INSPECTION = {
    "by": "building_control",
    "sees": "Sizes, bearings, treatment, notches",
    "blocks": "close",
}


def timber_answer(piece: NewTimber) -> dict[str, Any]:
    return {
        "key": piece.key,
        "role": piece.role,
        "title": piece.title,
        "quantity": piece.quantity,
        "length_mm": piece.length_mm,
        "length_rule": piece.length_rule,
        "breadth_mm": piece.section.breadth_mm,
        "depth_mm": piece.section.depth_mm,
        "strength_class": piece.section.strength_class,
        "treated": piece.treated,
    }


def supply_answer(supply: Any) -> dict[str, Any]:
    return {
        "pieces": [dict(piece) for piece in supply.pieces],
        "cost_pence": supply.cost_pence,
        "sentence": supply.sentence,
    }


def checked_answer(checked: Checked) -> dict[str, Any]:
    return {"of": checked.of, **outcome_answer(checked.outcome), "figures": dict(checked.figures)}


def outcome_answer(outcome: Outcome) -> dict[str, Any]:
    return {
        "edition": outcome.edition,
        "passes": outcome.passes,
        "governing": outcome.governing,
        "sentence": outcome.sentence,
        "checks": [asdict(check) for check in outcome.checks],
        "blocked": notes(outcome.blocked),
        "warnings": notes(outcome.warnings),
        "cautions": list(outcome.cautions),
    }


def notes(told: tuple[Note, ...]) -> list[dict[str, str]]:
    return [asdict(note) for note in told]


def step_answer(step: Step) -> dict[str, Any]:
    low, likely, high = step.minutes
    return {
        "step": step.key,
        "title": step.title,
        "low_minutes": low,
        "likely_minutes": likely,
        "high_minutes": high,
        "people": step.people,
        "floor_action": step.floor_action,
        "note": step.note,
    }


def link_answer(link: ReadyLink) -> dict[str, Any]:
    return asdict(link)
