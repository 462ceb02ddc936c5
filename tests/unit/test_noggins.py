"""Noggins between joists: clear gaps less an allowance, those of equal length together.

That a noggin is cut to the clear gap or up to 2 mm less: common practice, no source.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.noggins import Joist, NoJoists, between


def along_y(mark, x, breadth=50, *, length=4000, start=0, missing=False):
    return Joist(
        mark=mark, line=((x, start), (x, start + length)), breadth_mm=breadth, missing=missing
    )


def lengths(bays):
    return [(group.length_mm, group.quantity) for group in bays.groups]


def test_joists_at_400_leave_350_mm_between_50_mm_joists():
    joists = [along_y(f"J{n}", 400 * n) for n in range(8)]

    bays = between(joists, at_mm=None, rows=1, allowance_mm=2)

    assert lengths(bays) == [(348, 7)]
    assert bays.groups[0].rule == "Clear gap of 350 mm between joists, less 2 mm."
    assert bays.left_out == ()


def test_each_gap_has_its_own_length_and_equal_ones_are_one_group():
    joists = [along_y("J1", 0), along_y("J2", 400), along_y("J3", 760, 60), along_y("J4", 1160, 60)]

    bays = between(joists, at_mm=[1000, 3000], rows=1, allowance_mm=0)

    assert lengths(bays) == [(350, 2), (340, 2), (305, 2)]
    assert bays.groups[2].rule == "Clear gap of 305 mm between joists."


def test_the_way_a_joist_was_drawn_does_not_matter():
    joists = [along_y("J1", 0), Joist(mark="J2", line=((400, 4000), (400, 0)), breadth_mm=50)]

    assert lengths(between(joists, at_mm=[100], rows=1, allowance_mm=1)) == [(349, 1)]


def test_half_a_millimetre_is_rounded_down_never_up():
    joists = [along_y("J1", 0, 47), along_y("J2", 400, 50)]

    assert lengths(between(joists, at_mm=None, rows=1, allowance_mm=0)) == [(351, 1)]


def test_a_joist_that_runs_askew_makes_each_row_another_length():
    askew = Joist(mark="J2", line=((400, 0), (440, 4000)), breadth_mm=50)

    bays = between([along_y("J1", 0), along_y("J3", 800), askew], at_mm=[0, 4000], rows=1,
                   allowance_mm=0)  # fmt: skip

    assert lengths(bays) == [(390, 1), (350, 2), (310, 1)]


def test_nothing_goes_between_doubled_joists():
    joists = [along_y("J1", 0), along_y("J2", 55), along_y("J3", 455)]

    assert lengths(between(joists, at_mm=None, rows=1, allowance_mm=0)) == [(350, 1)]


def test_bays_beside_a_missing_joist_are_left_to_be_measured():
    joists = [along_y("J1", 0), along_y("J2", 400, missing=True), along_y("J3", 800)]

    bays = between([*joists, along_y("J4", 1200)], at_mm=None, rows=2, allowance_mm=0)

    assert lengths(bays) == [(350, 2)]
    assert bays.left_out == (
        "Between J1 and J2: J2 is missing; measure when it is in.",
        "Between J2 and J3: J2 is missing; measure when it is in.",
    )


def test_a_trimmer_across_is_passed_over_and_said():
    trimmer = Joist(mark="T1", line=((0, 2000), (800, 2000)), breadth_mm=50)

    bays = between([along_y("J1", 0), along_y("J2", 400), trimmer], at_mm=[500], rows=1,
                   allowance_mm=0)  # fmt: skip

    assert lengths(bays) == [(350, 1)]
    assert bays.left_out == ("T1 runs across the others: measure what meets it by hand.",)


def test_a_row_meets_only_the_joists_that_reach_it():
    joists = [along_y("J1", 0), along_y("J2", 400, length=1000), along_y("J3", 800)]

    bays = between(joists, at_mm=[500, 2000], rows=1, allowance_mm=0)

    assert lengths(bays) == [(750, 1), (350, 2)]


@pytest.mark.parametrize("joists", [[], [along_y("J1", 0)]])
def test_a_floor_without_two_joists_has_no_noggins(joists):
    with pytest.raises(NoJoists):
        between(joists, at_mm=None, rows=1, allowance_mm=0)


def test_a_row_beyond_the_joists_is_refused():
    with pytest.raises(ValueError, match="4100 mm along crosses no two joists"):
        between([along_y("J1", 0), along_y("J2", 400)], at_mm=[4100], rows=1, allowance_mm=0)


def test_joists_that_share_no_stretch_need_the_rows_to_be_said():
    joists = [along_y("J1", 0, length=1000), along_y("J2", 400, start=2000, length=1000)]

    with pytest.raises(ValueError, match="say where the rows are"):
        between(joists, at_mm=None, rows=1, allowance_mm=0)


@settings(max_examples=40, deadline=None)
@given(
    gaps=st.lists(st.integers(50, 900), min_size=1, max_size=12),
    breadths=st.lists(st.integers(30, 100), min_size=13, max_size=13),
    allowance=st.integers(0, 2),
    turn=st.sampled_from([0, 90]),
)
def test_noggins_and_joists_together_are_as_wide_as_the_floor(gaps, breadths, allowance, turn):
    """Whatever the gaps, lengths, allowances and breadths add up to the run to the millimetre."""
    faces, x = [], 0
    for gap, breadth in zip([0, *gaps], breadths, strict=False):
        x += gap
        faces.append((x, breadth))
        x += breadth
    joists = []
    for n, (face, breadth) in enumerate(faces):
        # Centre lines are whole millimetres: even breadths keep them so.
        half = breadth // 2
        centre = face + half
        line = ((centre, 0), (centre, 3000)) if turn else ((0, centre), (3000, centre))
        joists.append(Joist(mark=f"J{n}", line=line, breadth_mm=2 * half))

    bays = between(joists, at_mm=None, rows=1, allowance_mm=allowance)

    clear = sum((group.length_mm + allowance) * group.quantity for group in bays.groups)
    first, last = joists[0], joists[-1]
    axis = 0 if turn else 1
    wide = last.line[0][axis] - first.line[0][axis]
    wide += (first.breadth_mm + last.breadth_mm) // 2
    assert math.isclose(clear + sum(joist.breadth_mm for joist in joists), wide)
