"""The question put to the cutter: what is refused, what waste and cuts count."""

import pytest

from apps.timber.cutting.problem import (
    Bin,
    CuttingProblem,
    Part,
    Pattern,
    cuts_in,
    left_mm,
    waste_mm,
)

PART = Part(key="a", length_mm=500, quantity=2)
BIN = Bin(key="S", length_mm=1003, supply=1)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"kerf_mm": -1}, "nothing below 0 mm"),
        ({"parts": (PART, PART)}, "the same key"),
        ({"parts": (Part(key="a", length_mm=0),)}, "Part a is 0 mm"),
        ({"bins": (Bin(key="S", length_mm=900, cost=-1),)}, "Bin S"),
        ({"locked": (Pattern("T", ("a",)),)}, "names what is not there"),
        ({"kerf_mm": 4, "locked": (Pattern("S", ("a", "a")),)}, "longer than the bin"),
        ({"locked": (Pattern("S", ("a",), 0),)}, "less than once"),
        ({"locked": (Pattern("S", ("a",), 2),)}, "More is locked in bin S"),
        (
            {"bins": (Bin(key="S", length_mm=1003, supply=9),),
             "locked": (Pattern("S", ("a",), 3),)},
            "More of part a is locked",
        ),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_a_sentence(changes, sentence):
    given = {"parts": (PART,), "bins": (BIN,), "kerf_mm": 3} | changes
    with pytest.raises(ValueError, match=sentence):
        CuttingProblem(**given)


def test_two_parts_and_one_kerf_fill_a_bin_exactly():
    CuttingProblem(parts=(PART,), bins=(BIN,), kerf_mm=3, locked=(Pattern("S", ("a", "a")),))
    assert left_mm(1003, [500, 500], 3) == 0
    assert cuts_in(1003, [500, 500], 3) == 1


def test_what_the_last_kerf_eats_is_not_left():
    assert left_mm(1004, [500, 500], 3) == 0
    assert cuts_in(1004, [500, 500], 3) == 2
    assert left_mm(1010, [500, 500], 3) == 4


def test_nothing_cut_takes_no_cut():
    assert cuts_in(1000, [], 3) == 0
    assert left_mm(1000, [], 3) == 1000


def test_one_long_offcut_wastes_less_than_two_short_ones():
    assert waste_mm(299, 300) == 299
    assert waste_mm(300, 300) == 300
    assert waste_mm(1800, 300) + waste_mm(0, 300) < 2 * waste_mm(900, 300)
    assert waste_mm(1500, 300) + waste_mm(300, 300) < 2 * waste_mm(900, 300)


def test_waste_never_falls_with_what_is_left_and_never_exceeds_two_least_offcuts():
    wasted = [waste_mm(left, 300) for left in range(6000)]
    assert wasted == sorted(wasted)
    assert max(wasted) <= 600


def test_with_no_least_offcut_nothing_is_waste():
    assert waste_mm(700, 0) == 0
