"""Sizes of timber against EN 336 and against what merchants sell.

Sources:
- EN 336 target sizes, machined, in the Building Construction Handbook, 8th edition, p. 133: second
  hand (a stored page).
- EN 336 tolerances T1 and T2: second hand (two pages that report the standard).
- EN 336 movement, 0.25 % for each 1 % about 20 %: the coefficient read in the data of a general
  Eurocode library and in an engineers' note on a TRADA sheet; the rule from memory.
- Section reduction that keeps the grade, EN 336 with EN 14081-1:2016: second hand (a university's
  page).
- A customary size is nominal; a modern piece of that name measures less than the old one: common
  practice, no source. An inch is 25.4 mm.
"""

import pytest

from apps.checks.timber_size import (
    OLD,
    REGULARISED,
    customary,
    grade_survives,
    size_at,
    stock_sections,
    tolerance_mm,
)

TARGETS_MM = {2: 47, 2.5: 60, 3: 72, 4: 97, 5: 120, 6: 145, 7: 170, 8: 195, 9: 220, 10: 245}


@pytest.mark.parametrize(
    ("size_mm", "from_pct", "to_pct", "becomes_mm"),
    [(195, 20, 12, 191.1), (195, 20, 9, 189.6), (225, 20, 10, 225 - 5.6), (150, 20, 30, 153.75)],
)
def test_movement_is_a_quarter_of_a_per_cent_for_each_per_cent(
    size_mm, from_pct, to_pct, becomes_mm
):
    assert size_at(size_mm, from_pct, to_pct) == pytest.approx(becomes_mm, abs=0.05)


def test_nothing_moves_above_fibre_saturation():
    assert size_at(150, 60, 30) == size_at(150, 30, 30) == 150


@pytest.mark.parametrize(
    ("size_mm", "machined", "under_over"),
    [
        (100, False, (1, 3)),
        (101, False, (2, 4)),
        (100, True, (1, 1)),
        (195, True, (1.5, 1.5)),
    ],
)
def test_tolerances_change_above_a_hundred_millimetres(size_mm, machined, under_over):
    assert tolerance_mm(size_mm, machined=machined) == under_over


def test_stock_sections_are_the_machined_targets_of_their_names():
    for section in stock_sections():
        depth, breadth = (int(inches) for inches in section.name.split("x"))
        assert (section.breadth_mm, section.depth_mm) == (TARGETS_MM[breadth], TARGETS_MM[depth])


@pytest.mark.parametrize("inches", [2, 3, 4, 6, 7, 8, 9, 10])
def test_a_modern_piece_measures_less_than_the_old_one_of_its_name(inches):
    old = customary(2 * 25.4, inches * 25.4)
    modern = customary(47, TARGETS_MM[inches])

    assert old.name == modern.name == f"{inches}x2"
    assert (old.tradition, modern.tradition) == (OLD, REGULARISED)
    assert TARGETS_MM[inches] < inches * 25.4


def test_fifty_and_forty_five_by_about_two_hundred_are_sold_under_one_name():
    """Common practice, no source: so measure; the name overstates the stiffness by a fifth."""
    assert customary(50, 200).name == customary(45, 195).name == "8x2"


def test_the_reduction_that_keeps_a_grade_is_five_or_ten_millimetres():
    assert [grade_survives(100, mm) for mm in (5, 6)] == [True, False]
    assert [grade_survives(150, mm) for mm in (10, 11)] == [True, False]
