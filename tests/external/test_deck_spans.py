"""Spans of boards and sheets against published tables.

Sources:
- NHBC Standards 6.4.19, table 7: least thickness of decks at 400, 450 and 600 mm centres for
  1.5 kN/m², read (nhbc-standards.co.uk). It prints 18/19 for plywood and OSB at 600.
- Building Construction Handbook, 8th edition, p. 666: spans of tongued softwood boards to BS 1297,
  read at second hand (issuhub.com/view/index/3777?pageIndex=666).
- Chipboard 18 mm at 450 and 22 mm at 600: premierguarantee.es floor decks, read; the same figures.
- 18 mm boards "about 570 mm" is read between two rows, not published.
- An end may hang free 150 mm: common practice, no source; at most a quarter of the span: PL/4, the
  handbook moment of a central load, from memory.
"""

import pytest

from apps.checks.decks import (
    DeckInput,
    DeckSettings,
    allowed_cantilever_mm,
    allowed_span_mm,
    check_deck,
    least_thickness_mm,
)
from apps.checks.statics import point_moment

NHBC_TABLE_7 = [
    ("boards", 400, 16),
    ("boards", 450, 16),
    ("boards", 600, 19),
    ("chipboard", 400, 18),
    ("chipboard", 450, 18),
    ("chipboard", 600, 22),
    ("plywood", 400, 15),
    ("plywood", 450, 15),
    ("plywood", 600, 18),
    ("osb", 400, 15),
    ("osb", 450, 15),
    ("osb", 600, 18),
]
HANDBOOK = [(16, 505), (19, 600), (21, 635), (28, 790)]
AS_NHBC = DeckSettings(boards_table="nhbc")


@pytest.mark.parametrize(("kind", "centres_mm", "thickness_mm"), NHBC_TABLE_7)
def test_every_row_of_the_nhbc_table_passes_and_the_next_thinner_sheet_does_not(
    kind, centres_mm, thickness_mm
):
    def answer(thick):
        deck = DeckInput(
            kind=kind, thickness_mm=thick, centres_mm=centres_mm, settings=AS_NHBC
        )  # fmt: skip
        return check_deck(deck).outcome.passes

    assert answer(thickness_mm) is True
    assert answer(thickness_mm - 1) is not True
    assert least_thickness_mm(kind, centres_mm, AS_NHBC) == thickness_mm


@pytest.mark.parametrize(("thickness_mm", "span_mm"), HANDBOOK)
def test_boards_span_what_the_handbook_says(thickness_mm, span_mm):
    assert allowed_span_mm("boards", thickness_mm) == span_mm
    at, over = (
        check_deck(DeckInput(kind="boards", thickness_mm=thickness_mm, centres_mm=centres))
        for centres in (span_mm, span_mm + 1)
    )
    assert at.outcome.passes
    assert over.outcome.passes is False


def test_the_two_tables_of_boards_agree_within_what_they_print():
    """NHBC speaks of fixed centres only, so it never allows more than the handbook's span."""
    for thickness, _ in HANDBOOK:
        assert allowed_span_mm("boards", thickness, AS_NHBC) <= allowed_span_mm("boards", thickness)


def test_eighteen_millimetre_boards_are_read_between_two_rows_or_taken_as_the_row_below():
    assert allowed_span_mm("boards", 18) == pytest.approx(570, abs=5)
    assert allowed_span_mm("boards", 18, DeckSettings(between_rows=False)) == 505


@pytest.mark.parametrize(("thickness_mm", "free_mm"), [(16, 126), (19, 150), (28, 150)])
def test_a_free_end_is_at_most_150_mm_and_no_worse_than_a_footstep_in_mid_span(
    thickness_mm, free_mm
):
    assert allowed_cantilever_mm("boards", thickness_mm) == free_mm
    span = allowed_span_mm("boards", thickness_mm)
    assert 1.0 * free_mm <= point_moment(1.0, span / 2, span)
