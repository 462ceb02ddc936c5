"""What is usually seen before a suspended timber floor is covered, and which papers are usually
owed, in England. Data with its sources; a start, not a rule.

Since 1 October 2023 there is no fixed national list of stages: the local authority or the
approved inspector names those it wants to see, with times and with how long work stays open
(Building Regulations 2010, SI 2010/2214, regulation 16(2) and (3)). Documents marked "quoted"
were read quoted by others, not in the document itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

DECIDES = (
    "The local authority or the approved inspector decides what must be seen, when and on what "
    "notice; these are the usual ones. Change or remove what they do not ask for, and say which "
    "floor, area and tasks each is about."
)
WEEKDAYS = (0, 1, 2, 3, 4)
ONE_DAY = (
    "Notice of one day before covering: older council guides, before October 2023 "
    "(royalgreenwich.gov.uk); your authority's letter counts."
)


@dataclass(frozen=True, slots=True)
class Photo:
    """Evidence that must be on file before the work is covered."""

    key: str
    title: str


@dataclass(frozen=True, slots=True)
class Look:
    """A usual inspection: by whom, what is seen, and where that is written."""

    key: str
    title: str
    by: str
    sees: str
    source: str
    notice_working_days: int = 0
    visiting_days: Sequence[int] = ()
    evidence: Sequence[Photo] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """A usual certificate or test sheet: of which craft, and where that is written."""

    key: str
    title: str
    craft: str
    source: str


LOOKS: tuple[Look, ...] = (
    Look(
        "ground", "Ground under the floor, before oversite concrete", "building_control",
        "Clean, drained, membrane laps",
        "Council stage list (rushmoor.gov.uk, site inspections). " + ONE_DAY,
        notice_working_days=1, visiting_days=WEEKDAYS,
        evidence=(Photo("membrane", "Membrane and its laps before concrete"),),
    ),
    Look(
        "joists", "Floor joists and beams, before boards", "building_control",
        "Sizes, bearings, treatment, notches",
        "Council stage list (oxford.gov.uk, site inspections). " + ONE_DAY,
        notice_working_days=1, visiting_days=WEEKDAYS,
        evidence=(
            Photo("joist-ends", "Joist ends and their membrane before boards"),
            Photo("joists", "The joists as built, with a tape in view"),
        ),
    ),
    Look(
        "vents", "Air bricks and sleeper vents, before boards", "own_check",
        "Clear through paths, both sides",
        "Approved Document C; that it is checked before boards: common practice, no source.",
        evidence=(Photo("vents", "Each vent clear, from inside"),),
    ),
    Look(
        "drains", "Drains below ground, before backfill", "building_control",
        "Air test at 110 mm gauge, fall not over 25 mm in 7 minutes; again at completion",
        "Approved Document H 2.59–2.62, quoted; the figures from memory. " + ONE_DAY,
        notice_working_days=1, visiting_days=WEEKDAYS,
        evidence=(Photo("drains", "The open drain, bedded and on test"),),
    ),
    Look(
        "waste", "Waste pipes above ground, before boxing and boards", "trade",
        "Air at 38 mm water gauge for 3 minutes, traps keep 25 mm seal",
        "Approved Document H 1.38, quoted.",
        evidence=(Photo("waste", "Each run with a tape in view"),),
    ),
    Look(
        "water", "Hot and cold water pipes, before boards", "trade",
        "Water test at not less than 1.5 × the greatest operating pressure",
        "Water Supply (Water Fittings) Regulations 1999, Schedule 2 (advice note I35).",
        evidence=(Photo("water", "Each run and the gauge on test"),),
    ),
    Look(
        "heating", "Heating pipes, before boards or screed", "trade",
        "1.5 × working pressure for radiators; 4 to 6 bar of water for embedded loops",
        "BS EN 14336, from memory; BS EN 1264-4:2021, quoted.",
        evidence=(Photo("heating", "Each run and the gauge on test"),),
    ),
    Look(
        "gas", "Gas pipe, before boards", "trade",
        "Tightness test by a registered engineer; nobody else works on gas",
        "Gas Safety (Installation and Use) Regulations 1998; the test itself from memory.",
        evidence=(Photo("gas", "The pipe before boards"),),
    ),
    Look(
        "cables", "Cable runs under boards, before insulation and boards", "trade",
        "50 mm or more from the joist's top and bottom, or armoured or metal protection",
        "BS 7671 regulation group 522.6, quoted.",
        evidence=(Photo("cables", "Each run with a tape in view"),),
    ),
    Look(
        "dead-tests", "Dead tests of the circuits, before boards and plaster", "trade",
        "In order: protective conductor, ring, insulation, polarity; by a competent electrician",
        "BS 7671 Part 6, quoted.",
    ),
    Look(
        "insulation", "Floor insulation, before boards", "building_control",
        "Depth, no gaps, ventilation path kept",
        "Approved Documents L and C; that it is seen before boards: common practice, no source.",
        notice_working_days=1, visiting_days=WEEKDAYS,
        evidence=(Photo("insulation", "Insulation before boards, with a tape in view"),),
    ),
)  # fmt: skip

PAPERS: tuple[Paper, ...] = (
    Paper(
        "electrical", "Electrical installation certificate", "electrician",
        "BS 7671 Part 6, quoted. Self-certified work: to the occupier, and notice to the "
        "council, within 30 days (Building Regulations 2010 regulation 20(3)).",
    ),
    Paper(
        "gas", "Gas and boiler notice", "gas",
        "Papers a buyer's lawyer asks for, quoted; within 30 days when self-certified (Building "
        "Regulations 2010 regulation 20(3)).",
    ),
    Paper(
        "water-test", "Pressure test sheet, hot and cold water", "plumber",
        "Water Supply (Water Fittings) Regulations 1999, Schedule 2; keeping the sheet: common "
        "practice, no source.",
    ),
    Paper(
        "heating-test", "Pressure test sheet, heating", "plumber",
        "BS EN 14336, from memory; keeping the sheet: common practice, no source.",
    ),
    Paper(
        "drain-test", "Drain test sheet", "plumber",
        "Approved Document H 2.59–2.62, quoted; keeping the sheet: common practice, no source.",
    ),
    Paper(
        "ventilation", "Ventilation commissioning sheet", "other",
        "Approved Document F, from memory: fixed ventilation is tested and the readings given.",
    ),
    Paper(
        "treatment", "Preservative and insulation data sheets", "carpenter",
        "Papers to keep with the house: common practice, no source.",
    ),
)  # fmt: skip
