"""What a lap cannot mend: the old joist over its whole span, and how the floor shakes."""

from __future__ import annotations

from dataclasses import replace

from apps.checks.joist_input import JoistInput
from apps.checks.joist_words import in_words
from apps.checks.lap_model import Lap
from apps.checks.member import Member, Row, member, rows
from apps.checks.results import Check

WHOLE = "joist_"  # how the codes of these checks begin
SHAKES = ("frequency", "unit_deflection", "impulse")
ELSEWHERE = ("bearing", "deflection")  # the lap's own checks have these, both ends and slip in them


def whole_joist(found: Lap, joist: JoistInput, cut_mm: int) -> list[Check]:
    """The checks of the old joist as if it ran through, with what was cut into the part that stays.

    Vibration goes by the softer of the two pieces over the whole span; slip is not in it.

    Raises:
        ValueError: a notch or hole leaves nothing of the old joist.
    """
    kept = replace(joist, cuts=tuple(cut for cut in joist.cuts if cut.to_mm > cut_mm), decayed=())
    old = member(kept, found.old.breadth, found.old.depth, with_cuts=True)
    if old is None:
        raise ValueError("A notch or hole leaves nothing of the old joist.")
    strong = [
        row for row in rows(old, kept.span_mm) if not row[0].startswith((*SHAKES, *ELSEWHERE))
    ]
    return [_said(row, kept) for row in (*strong, *_shakes(found, kept, old))]


def _shakes(found: Lap, kept: JoistInput, old: Member) -> list[Row]:
    new = replace(kept, strength_class=found.given.strength_class, cuts=())
    other = member(new, found.new.breadth, found.new.depth, with_cuts=False)
    softer = old
    if other is not None and found.new.stiffness[0] < found.old.stiffness[0]:
        softer = other
    return [row for row in rows(softer, kept.span_mm) if row[0] in SHAKES]


def _said(row: Row, kept: JoistInput) -> Check:
    check = in_words(*row, kept)
    told = check.sentence[0].lower() + check.sentence[1:]
    return replace(check, code=f"{WHOLE}{check.code}", sentence=f"Over the whole span {told}")
