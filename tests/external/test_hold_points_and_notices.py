"""The usual inspections against a list of hold points and notices kept apart from the program.

The rows are facts with where each was read: "read" means in the document's own words, "quoted"
in another's, "from memory" that nobody saw them, and "common practice" that there is no source.
The local authority or the approved inspector decides all the same (Building Regulations 2010,
SI 2010/2214, regulation 16(2) and (3), as in force from 1 October 2023, read at
legislation.gov.uk).
"""

from datetime import date

import pytest

from apps.inspections.models import Inspection
from apps.inspections.notice_text import earliest_look
from apps.inspections.usual import DECIDES, LOOKS, PAPERS
from apps.inspections.validators import required_evidence
from apps.work.models import Trade

# Key of the usual inspection; what it has to come before; words of what is checked; the document.
HOLD_POINTS = [
    # BS 7671 522.6, quoted from 522-06-05.
    ("cables", "boards", "50 mm", "BS 7671"),
    # BS 7671 Part 6, the order of the dead tests, quoted.
    ("dead-tests", "plaster", "protective conductor, ring, insulation, polarity", "BS 7671 Part 6"),
    # Water Supply (Water Fittings) Regulations 1999 Sch 2 by advice note I35, read at wras.co.uk.
    ("water", "boards", "1.5 ×", "Water Supply (Water Fittings) Regulations 1999"),
    # BS EN 1264-4:2021 quoted, 4 to 6 bar; BS EN 14336 from memory.
    ("heating", "screed", "4 to 6 bar", "BS EN 1264-4"),
    # Approved Document H 1.38, quoted: 38 mm for three minutes, traps keep 25 mm.
    ("waste", "boxing", "38 mm water gauge for 3 minutes, traps keep 25 mm", "Document H 1.38"),
    # Approved Document H 2.59 to 2.62, numbers quoted; 110 mm and 25 mm in 7 minutes from memory.
    ("drains", "backfill", "110 mm gauge, fall not over 25 mm in 7 minutes", "Document H 2.59"),
    # Council stage list, read at rushmoor.gov.uk.
    ("ground", "oversite concrete", "drained, membrane laps", "rushmoor.gov.uk"),
    # Council stage list, read at oxford.gov.uk.
    ("joists", "boards", "bearings, treatment, notches", "oxford.gov.uk"),
    # Parts L and C; common practice, no source.
    ("insulation", "boards", "no gaps, ventilation path kept", "common practice, no source"),
    # Approved Document C; common practice, no source.
    ("vents", "boards", "both sides", "common practice, no source"),
    # Gas Safety (Installation and Use) Regulations 1998; the test from memory.
    ("gas", "boards", "registered engineer", "Gas Safety (Installation and Use) Regulations 1998"),
]
BY_KEY = {look.key: look for look in LOOKS}
SOURCED = ("read", "quoted", "memory", "common practice", "gov.uk", "Regulations")


@pytest.mark.parametrize(("key", "before", "checked", "document"), HOLD_POINTS)
def test_a_published_hold_point_is_among_the_usual_ones(key, before, checked, document):
    look = BY_KEY[key]

    assert before in look.title
    assert checked in look.sees
    assert document in look.source


def test_there_is_no_usual_inspection_that_this_list_does_not_know():
    assert set(BY_KEY) == {key for key, *_ in HOLD_POINTS}


def test_covering_takes_a_day_of_notice_to_building_control_and_none_to_anyone_else():
    """One day before covering foundation, DPC, oversite, drain: an older council guide, before
    October 2023, read at royalgreenwich.gov.uk. Trades and own checks: no published notice."""
    notices = {(look.by, look.notice_working_days) for look in LOOKS}

    assert notices == {("building_control", 1), ("trade", 0), ("own_check", 0)}
    assert all(
        "royalgreenwich.gov.uk" in look.source
        for look in LOOKS
        if look.notice_working_days and look.key != "insulation"
    )


@pytest.mark.parametrize(
    ("given_on", "earliest_on", "why"),
    [
        # Regulation 16(1): two days fully elapsed after the day of the notice; looks on a
        # working day. Worked by hand on the published bank holidays (gov.uk/bank-holidays).
        (date(2026, 11, 25), date(2026, 11, 30), "work may start on Sat 28; they come on Monday"),
        (date(2026, 11, 27), date(2026, 12, 2), "Monday and Tuesday elapse"),
        (date(2026, 12, 24), date(2026, 12, 31), "25 and 28 are holidays; 29 and 30 elapse"),
        (date(2026, 4, 2), date(2026, 4, 9), "Good Friday and Easter Monday do not count"),
    ],
)
def test_two_clear_days_of_notice_end_on_a_day_they_come(given_on, earliest_on, why):
    holidays = {date(2026, 4, 3), date(2026, 4, 6), date(2026, 12, 25), date(2026, 12, 28)}

    assert earliest_look(given_on, 2, [0, 1, 2, 3, 4], holidays) == earliest_on, why


def test_self_certified_work_gives_its_papers_within_thirty_days():
    """Building Regulations 2010 regulation 20(3), read at legislation.gov.uk."""
    papers = {paper.key: paper for paper in PAPERS}

    for key in ("electrical", "gas"):
        assert "30 days" in papers[key].source
        assert "regulation 20(3)" in papers[key].source


def test_every_usual_row_says_where_it_is_from_and_fits_the_record():
    assert all(any(word in row.source for word in SOURCED) for row in (*LOOKS, *PAPERS))
    assert {look.by for look in LOOKS} <= set(Inspection.By.values)
    assert {paper.craft for paper in PAPERS} <= set(Trade.Craft.values)
    for look in LOOKS:
        required_evidence([{"key": photo.key, "title": photo.title} for photo in look.evidence])
    assert len({row.key for row in LOOKS}) == len(LOOKS)
    assert len({row.key for row in PAPERS}) == len(PAPERS)


def test_the_one_who_decides_is_named():
    assert "local authority or the approved inspector decides" in DECIDES
