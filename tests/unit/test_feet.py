"""Feet and inches beside metric lengths.

Source: an inch is exactly 25.4 mm (the International Yard and Pound agreement of 1959; NIST SP 811,
appendix B; from memory). The table's inches are that sum done by hand.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.pages.feet import (
    HALVES,
    NO_BREAK,
    SIXTEENTHS,
    in_feet,
    page_with_feet,
    sheet_with_feet,
    with_feet,
)
from apps.pages.typed_lengths import typed_length_mm


@pytest.mark.parametrize(
    ("mm", "sixteenths", "halves"),
    [
        (0, '0"', '0"'),
        (25.4, '1"', '1"'),
        (304.8, "1' 0\"", "1' 0\""),
        (914.4, "3' 0\"", "3' 0\""),
        (3620, "11' 10½\"", "11' 10½\""),
        (3000, "9' 10⅛\"", "9' 10\""),
        (310, "1' 0 3/16\"", "1' 0\""),
        (318, "1' 0½\"", "1' 0½\""),
        (150, '5⅞"', '6"'),
        (50, '1 15/16"', '2"'),
        (4.7625, '3/16"', '0"'),
        (304.5, "1' 0\"", "1' 0\""),
        (-12, '−½"', '−½"'),
        (-0.5, '0"', '0"'),
    ],
)
def test_a_length_is_told_in_feet_and_inches(mm, sixteenths, halves):
    assert in_feet(mm) == sixteenths
    assert in_feet(mm, per_inch=HALVES) == halves


@given(st.integers(0, 200_000), st.sampled_from([SIXTEENTHS, HALVES]))
def test_what_is_told_is_read_back_as_the_same_length(mm, per_inch):
    back_mm = typed_length_mm(in_feet(mm, per_inch=per_inch))

    # Half of the part of an inch that it was rounded to, and half a millimetre when read.
    assert abs(back_mm - mm) <= Fraction(254, 20 * per_inch) + Fraction(1, 2)


@given(st.integers(1, 200_000))
def test_the_metric_length_stays_and_both_are_one(mm):
    told = with_feet(f"{mm} mm")

    metric, _, feet = told.partition(" (")
    assert typed_length_mm(metric) == mm
    assert abs(typed_length_mm(feet.removesuffix(")")) - mm) <= 1


@given(st.integers(1, 200_000))
def test_a_length_below_a_datum_is_the_same_with_a_minus(mm):
    below, above = in_feet(-mm), in_feet(mm)

    assert below == (f"−{above}" if above != '0"' else above)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("3.62 m wide", "3.62 m (11' 10½\") wide"),
        ("50 × 150 × 3000 mm", '50 × 150 × 3000 mm (1 15/16" × 5⅞" × 9\' 10⅛")'),
        ("nails at 900–2100 mm.", "nails at 900–2100 mm (2' 11 7/16\"–6' 10 11/16\")."),
        ("from 0 to 300 mm", 'from 0 to 300 mm (0" to 11 13/16")'),
        ("3,620 mm", "3,620 mm (11' 10½\")"),
        ("−3.5 mm", '−3.5 mm (−⅛")'),
        ("+3.5 mm", '+3.5 mm (+⅛")'),
        ("3000 mm (10x4)", "3000 mm (9' 10⅛\") (10x4)"),
        ("18&nbsp;mm", '18&nbsp;mm (11/16")'),
    ],
)
def test_each_length_in_a_sentence_gets_its_feet(words, told):
    assert with_feet(words).replace(NO_BREAK, " ") == told


def test_a_length_is_not_broken_in_two():
    assert with_feet("50 × 3000 mm") == f'50 × 3000 mm (1{NO_BREAK}15/16" × 9\'{NO_BREAK}10⅛")'


@pytest.mark.parametrize(
    "words",
    [
        "2.4 m² of it", "1300 mm² of brick", "5 N/mm²", "4 kN/m", "3 m/s", "60 min", "T14 mm",
        "0 mm", "−0.5 mm", "+0.7 mm",
        "2400, 2.4m, 240cm or 7'10\"", "350 mm (13¾\")", "no 3 more", "24 % on 2 March",
    ],
)  # fmt: skip
def test_what_is_no_length_or_is_told_already_stays(words):
    assert with_feet(words) == words


def test_a_sentence_told_twice_has_its_feet_once():
    once = with_feet("It is 300 mm long, 2.4 m away.")

    assert with_feet(once) == once


def test_only_the_words_of_a_page_are_told_in_feet():
    html = (
        '<p title="300 mm">300 mm</p><svg><text>300 mm</text></svg><input value="300 mm">'
        "<select><option>300 mm</option></select><textarea>300 mm</textarea><b>50 mm</b>"
    )

    told = page_with_feet(html).replace(NO_BREAK, " ")

    assert told.count("11 13/16") == 1
    assert '<p title="300 mm">300 mm (11 13/16")</p>' in told
    assert '<b>50 mm (1 15/16")</b>' in told


def test_rooms_are_told_to_the_half_inch():
    told = with_feet("3620 × 4100 mm, boards of 150 mm", of_rooms=True).replace(NO_BREAK, " ")

    assert told == '3620 × 4100 mm (11\' 10½" × 13\' 5½"), boards of 150 mm (5⅞")'


def test_a_sheet_is_told_in_feet_but_for_its_drawings():
    told = {"plan": "<text>300 mm</text>", "bars": [{"lines": [["349 mm", 4]]}], "used": ("3 mm",)}

    assert sheet_with_feet(told, but={"plan"}) == {
        "plan": "<text>300 mm</text>",
        "bars": [{"lines": [[f"349 mm (1'{NO_BREAK}1¾\")", 4]]}],
        "used": ['3 mm (⅛")'],
    }
