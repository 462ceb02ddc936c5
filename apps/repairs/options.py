"""What a proposal is made of: its pieces of timber, its checks, its tasks, what it costs."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from apps.checks.results import Outcome
from apps.repairs.damage import Damage
from apps.repairs.facts import Asked, JoistFacts
from apps.repairs.steps import Step
from apps.work.ready import ReadyLink

OPTIONS = ("lap_end", "sister", "sister_hanger", "replace")
NAMES: Mapping[str, str] = {
    "lap_end": "New end on a lap",
    "sister": "Full-length sister",
    "sister_hanger": "Sister and hanger",
    "replace": "Replace the joist",
}


@dataclass(frozen=True, slots=True)
class Section:
    """Breadth and depth [mm], the EN 338 class, and how that is known."""

    breadth_mm: int
    depth_mm: int
    strength_class: str
    grade_basis: str = "stamped"

    def __str__(self) -> str:
        return f"{self.breadth_mm} × {self.depth_mm} mm {self.strength_class}".rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class NewTimber:
    """A piece that the repair needs; `key` tells pieces of one option apart."""

    key: str
    role: str
    title: str
    length_mm: int
    length_rule: str
    section: Section
    treated: bool
    quantity: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One check of an option: what it is of, its outcome, and figures worth keeping."""

    of: str
    outcome: Outcome
    figures: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """Where a piece of an option comes from: out of the pile, from the yard, or nobody knows.

    `pieces` are `{id, mark}` of salvaged pieces that fit; `cost_pence` None: no price is known.
    """

    timber: str
    pieces: tuple[Mapping[str, Any], ...]
    cost_pence: int | None
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One way to repair a joist, worked out: `why_not` says why it cannot be done at all."""

    option: str
    title: str
    why_not: str = ""
    cut_back: tuple[Mapping[str, Any], ...] = ()
    timber: tuple[NewTimber, ...] = ()
    fixings: tuple[Mapping[str, Any], ...] = ()
    checks: tuple[Checked, ...] = ()
    opened: tuple[int, int] = (0, 0)
    deviation: Mapping[str, str] | None = None
    warnings: tuple[str, ...] = ()

    @property
    def possible(self) -> bool:
        return not self.why_not

    @property
    def passes(self) -> bool | None:
        """True when every check passes; None when one of them gives no answer."""
        verdicts = [check.outcome.passes for check in self.checks]
        if not self.possible or not verdicts or False in verdicts:
            return False
        return None if None in verdicts else True


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A design with its tasks, its opening and where its timber comes from."""

    design: Design
    steps: tuple[Step, ...] = ()
    links: tuple[ReadyLink, ...] = ()
    area: tuple[tuple[int, int], ...] = ()
    boards: tuple[int, ...] = ()
    boards_down: tuple[int, ...] = ()
    supplies: tuple[Supply, ...] = ()

    @property
    def minutes(self) -> int:
        """Likely minutes of one pair of hands: a task for two counts twice."""
        return sum(step.minutes[1] * step.people for step in self.steps)

    @property
    def from_pile(self) -> bool:
        return bool(self.supplies) and all(supply.pieces for supply in self.supplies)

    @property
    def cost_pence(self) -> int | None:
        """What the yard asks for what the pile does not hold; None: a price is missing."""
        costs = [supply.cost_pence for supply in self.supplies]
        return None if None in costs else sum(cost or 0 for cost in costs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A priced design in its place, with the sentence that says why it stands there."""

    rank: int
    priced: Priced
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """All options for one joist, the best first; `evidence` marks what it was worked out from."""

    facts: JoistFacts
    asked: Asked
    evidence: str
    damage: Damage
    options: tuple[Ranked, ...]
    propping: tuple[str, ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    sentence: str


def mark_of(facts: JoistFacts, asked: Asked, designs: Iterable[Design]) -> str:
    """A mark of what a proposal rests on and of the timber it would have: another one means that
    something changed, on the joist, in what was asked, or in the pile that decides the section."""
    told: Mapping[str, Any] = {
        "joist": asdict(facts),
        "asked": asdict(asked),
        "timber": {row.option: [asdict(piece) for piece in row.timber] for row in designs},
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
