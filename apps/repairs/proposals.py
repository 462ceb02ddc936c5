"""The ways to repair a joist, each designed and checked: a new end on a lap, a full-length sister,
a sister and a hanger, another joist.

What carries is checked as if it carried alone, except where joist and sister are both sound from
bearing to bearing. So a decayed joist beside a sister is company, never help.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from apps.checks.strength import CLASSES
from apps.repairs.damage import Damage
from apps.repairs.facts import Asked, BearingAt, JoistFacts
from apps.repairs.fixings import NoRoomError
from apps.repairs.hangers import hanger_told
from apps.repairs.laps import lapped, passes_at
from apps.repairs.members import old_section, worst_member
from apps.repairs.options import NAMES, Design, NewTimber, Section
from apps.repairs.sisters import Sister, could_carry, sistered

HANGER_GAP_MM = 6
"""From a joist's end to its hanger's back, at most (from memory)."""

MAKERS_HANGER = (
    "A hanger carries what its maker's sheet says, on the masonry that sheet asks for; every round "
    "hole is nailed (NHBC Standards 6.4.13, read). A built-in one needs set masonry above it "
    "before it is loaded."
)
WHOLE = "the old joist, as if whole"
WET_POCKET = (
    "The pocket is lined and the new timber treated, or the damp that rotted the old end rots it "
    "too (NHBC Standards 6.4.9, read)."
)


def designs(
    facts: JoistFacts, asked: Asked, harm: Damage, sections: Sequence[Section]
) -> tuple[Design, ...]:
    """All four options; those that cannot be done say why.

    Args:
        sections: of new timber to try, the most wanted first. The first that passes is taken,
            or the first of all.

    Raises:
        ValueError: figures that no joist has.
    """
    whole = worst_member("", facts, asked, old_section(facts, asked), cuts=True)
    # A lap cannot pass where the old joist would not, whatever is lapped onto it.
    for_laps = sections if whole.outcome.passes else sections[:1]
    able = [row for row in sections if could_carry(facts, asked, harm, row)]
    for_sisters = able or sections[:1]
    tried = {"lap_end": for_laps, "sister": for_sisters, "sister_hanger": for_sisters}
    return tuple(
        designed(option, facts, asked, harm, tried.get(option, sections)) for option in WAYS
    )


def designed(
    option: str, facts: JoistFacts, asked: Asked, harm: Damage, sections: Sequence[Section]
) -> Design:
    """One option in the first section that passes, else in the first of all that can be had."""
    why_not, make = WAYS[option]
    if why := why_not(facts, harm):
        return Design(option=option, title=NAMES[option], why_not=why)
    tried: list[Design] = []
    for section in sections:
        nearest = next((design for design in tried if design.possible), None)
        try:
            if option == "lap_end" and not worth_a_lap(facts, asked, harm, nearest, section):
                continue
            tried.append(make(facts, asked, harm, section))
        except NoRoomError as exc:
            tried.append(Design(option=option, title=NAMES[option], why_not=str(exc)))
        if tried[-1].passes:
            return tried[-1]
    return next((design for design in tried if design.possible), tried[0])


def worth_a_lap(
    facts: JoistFacts, asked: Asked, harm: Damage, nearest: Design | None, section: Section
) -> bool:
    """Whether another section passes at the laps that came nearest: only then are its own laps
    looked for, which takes a while."""
    if nearest is None:
        return True
    laps_mm = [int(row.figures["lap_mm"]) for row in nearest.checks if "lap_mm" in row.figures]
    return all(
        passes_at(facts, asked, section, cut, lap_mm)
        for cut, lap_mm in zip(harm.ends, laps_mm, strict=True)
    )


def no_lap(facts: JoistFacts, harm: Damage) -> str:
    if harm.lost:
        return harm.lost
    if harm.middle:
        return "There is decay between sound lengths: a new end does not reach it."
    return "" if harm.ends else f"Neither end of {facts.mark} is decayed."


def no_sister(facts: JoistFacts, harm: Damage) -> str:
    return f"{harm.lost} There is nothing to fix a sister to." if harm.lost else ""


def no_hanger(facts: JoistFacts, harm: Damage) -> str:
    if harm.lost:
        return no_sister(facts, harm)
    return "" if harm.ends else f"Neither end of {facts.mark} is decayed, so both may bear."


def always(facts: JoistFacts, harm: Damage) -> str:
    return ""


def lap_end(facts: JoistFacts, asked: Asked, harm: Damage, section: Section) -> Design:
    """New timber from the bearing to sound wood and past it, fixed to the old joist's side."""
    laps = [lapped(facts, asked, section, cut) for cut in harm.ends]
    low, high = harm.keep or (0, 0)
    if sum(lap.lap_mm for lap in laps) > high - low:
        raise NoRoomError("The two laps would meet: too little of the old joist is left.")
    whole = worst_member(WHOLE, facts, asked, old_section(facts, asked), cuts=True)
    timber = []
    for lap in laps:
        end = "0 mm" if lap.end == "start" else f"{facts.length_mm} mm"
        timber.append(
            NewTimber(
                key=f"end_{lap.end}",
                role="lap_end",
                title=f"{facts.mark}: new end at {end}",
                length_mm=lap.length_mm,
                length_rule=(
                    f"{lap.beyond_mm} mm from the bearing's outer edge to the cut at "
                    f"{lap.cut_mm} mm, and {lap.lap_mm} mm of lap"
                ),
                section=section,
                treated=in_masonry(bearing_at(facts, lap.end)),
            )
        )
    title = f"New end of {section} on a lap of {max(lap.lap_mm for lap in laps)} mm"
    return Design(
        option="lap_end",
        title=title,
        cut_back=cut_back(harm),
        timber=tuple(timber),
        fixings=tuple(lap.fixings for lap in laps),
        checks=(*(lap.check for lap in laps), whole),
        opened=(min(lap.from_mm for lap in laps), max(lap.to_mm for lap in laps)),
        deviation=deviation(facts, section, title),
        warnings=warnings(facts, timber),
    )


def sister(facts: JoistFacts, asked: Asked, harm: Damage, section: Section) -> Design:
    """New timber from bearing to bearing beside the joist."""
    first, last = facts.bearings[0], facts.bearings[-1]
    timber = (
        NewTimber(
            key="sister",
            role="sister",
            title=f"{facts.mark}: sister",
            length_mm=last.end_mm - first.at_mm,
            length_rule="from outer edge to outer edge of the bearings",
            section=section,
            treated=in_masonry(first) or in_masonry(last),
        ),
    )
    found = sistered(
        Sister(
            facts=facts, asked=asked, harm=harm, section=section,
            reach=(first.at_mm, last.end_mm),
        )
    )  # fmt: skip
    title = f"Full-length sister of {section}"
    return Design(
        option="sister",
        title=title,
        cut_back=cut_back(harm),
        timber=timber,
        fixings=(found.fixings,),
        checks=found.checks,
        opened=(0, facts.length_mm),
        deviation=deviation(facts, section, title),
        warnings=warnings(facts, timber),
    )


def sister_hanger(facts: JoistFacts, asked: Asked, harm: Damage, section: Section) -> Design:
    """A sister that ends at the wall's face and hangs there: nothing new goes into a wet wall."""
    first, last = facts.bearings[0], facts.bearings[-1]
    ends = {cut.end for cut in harm.ends}
    from_mm = first.end_mm if "start" in ends else first.at_mm
    to_mm = last.at_mm if "far" in ends else last.end_mm
    hung = {"start": 0, "far": len(facts.bearings) - 1}
    faces = {"start": first.end_mm, "far": last.at_mm}
    timber = (
        NewTimber(
            key="sister",
            role="sister",
            title=f"{facts.mark}: sister to a hanger",
            length_mm=to_mm - from_mm,
            length_rule=f"to the wall's face, at most {HANGER_GAP_MM} mm off the hanger's back",
            section=section,
            treated=any(
                in_masonry(bearing)
                for bearing, end in ((first, "start"), (last, "far"))
                if end not in ends
            ),
        ),
    )
    found = sistered(
        Sister(
            facts=facts, asked=asked, harm=harm, section=section, reach=(from_mm, to_mm),
            hung=frozenset(hung[end] for end in ends),
        )
    )  # fmt: skip
    title = f"Sister of {section} and {len(ends)} hanger{'s' if len(ends) > 1 else ''}"
    return Design(
        option="sister_hanger",
        title=title,
        cut_back=cut_back(harm),
        timber=timber,
        fixings=(
            found.fixings,
            hanger_told(section, tuple(sorted(faces[end] for end in ends))),
        ),
        checks=found.checks,
        opened=(0, facts.length_mm),
        deviation=deviation(facts, section, title),
        warnings=(MAKERS_HANGER,),
    )


def replace(facts: JoistFacts, asked: Asked, harm: Damage, section: Section) -> Design:
    """The joist comes out and another goes in."""
    first, last = facts.bearings[0], facts.bearings[-1]
    timber = (
        NewTimber(
            key="joist",
            role="joist",
            title=f"{facts.mark}: new joist",
            length_mm=last.end_mm - first.at_mm,
            length_rule="from outer edge to outer edge of the bearings",
            section=section,
            treated=any(in_masonry(bearing) for bearing in facts.bearings),
        ),
    )
    title = f"New joist of {section}"
    return Design(
        option="replace",
        title=title,
        timber=timber,
        fixings=(
            {
                "kind": "bearing",
                "count": len(facts.bearings),
                "sentence": "It bears as the old one did, on hard packing where it needs any.",
            },
        ),
        checks=(worst_member("the new joist", facts, asked, section),),
        opened=(0, facts.length_mm),
        deviation=deviation(facts, section, title),
        warnings=warnings(facts, timber),
    )


WhyNot = Callable[[JoistFacts, Damage], str]
Make = Callable[[JoistFacts, Asked, Damage, Section], Design]
WAYS: Mapping[str, tuple[WhyNot, Make]] = {
    "lap_end": (no_lap, lap_end),
    "sister": (no_sister, sister),
    "sister_hanger": (no_hanger, sister_hanger),
    "replace": (always, replace),
}


def cut_back(harm: Damage) -> tuple[Mapping[str, Any], ...]:
    """Where the old joist is sawn: its decayed ends off, decay between sound lengths out."""
    return (
        *(
            {"at_mm": cut.cut_mm, "end": cut.end, "proven": cut.proven, "sentence": cut.sentence}
            for cut in harm.ends
        ),
        *(
            {
                "at_mm": low, "end": "middle", "proven": True,
                "sentence": f"The decay from {low} to {high} mm is cut out.",
            }
            for low, high in harm.middle
        ),
    )  # fmt: skip


def bearing_at(facts: JoistFacts, end: str) -> BearingAt:
    return facts.bearings[0 if end == "start" else -1]


def in_masonry(bearing: BearingAt) -> bool:
    return bearing.kind == "masonry_pocket"


def warnings(facts: JoistFacts, timber: Sequence[NewTimber]) -> tuple[str, ...]:
    return (WET_POCKET,) if any(piece.treated for piece in timber) else ()


def deviation(facts: JoistFacts, section: Section, built: str) -> Mapping[str, str] | None:
    """The draft of a deviation where the new timber is not what the floor was specified with."""
    wanted = Section(facts.specified_breadth_mm, facts.specified_depth_mm, facts.specified_class)
    same_size = (section.breadth_mm, section.depth_mm) == (wanted.breadth_mm, wanted.depth_mm)
    grade = CLASSES.get(wanted.strength_class.upper())
    as_strong = grade is None or CLASSES[section.strength_class].f_m_k >= grade.f_m_k
    if same_size and as_strong:
        return None
    return {
        "specified": f"{facts.mark}: {wanted}",
        "built": f"{facts.mark}: {built[0].lower()}{built[1:]}",
        "why": f"{facts.mark} is repaired; this is the section that there is or that passes.",
    }
