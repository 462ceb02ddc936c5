"""A bar in sawing order: what each millimetre of it becomes."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.offcuts import cut_out, sound_mm
from apps.timber.pieces_as_data import DefectData, PieceData
from apps.timber.runs import SETTINGS
from apps.timber.sawing import (
    BarData,
    Kind,
    Planned,
    in_words,
    shifted,
    stretches,
    strokes,
    totals,
)


def bar(length_mm, *parts, kerf_mm=3, trim_mm=100, old_ends=True, least=300, sound=None):
    return BarData(
        length_mm=length_mm, parts=parts, kerf_mm=kerf_mm, trim_mm=trim_mm, old_ends=old_ends,
        least_offcut_mm=least, sound_mm=sound or (lambda start, stop: stop - start),
    )  # fmt: skip


def told(found):
    return [(stretch.kind.value, stretch.from_mm, stretch.to_mm) for stretch in found]


def test_an_old_bar_loses_its_end_gives_a_part_and_keeps_a_squared_offcut():
    assert told(stretches(bar(2000, (100, 1000)))) == [
        ("trim", 0, 97), ("kerf", 97, 100), ("part", 100, 1000), ("kerf", 1000, 1003),
        ("offcut", 1003, 1900), ("kerf", 1900, 1903), ("trim", 1903, 2000),
    ]  # fmt: skip


def test_a_new_bar_has_no_trims_and_one_that_comes_out_even_no_last_stroke():
    found = stretches(bar(1003, (0, 500), (503, 1003), old_ends=False))

    assert told(found) == [("part", 0, 500), ("kerf", 500, 503), ("part", 503, 1003)]
    assert len(strokes(found)) == 1


def test_a_remainder_thinner_than_the_saw_is_dust():
    found = stretches(bar(1002, (0, 1000), old_ends=False))

    assert told(found) == [("part", 0, 1000), ("kerf", 1000, 1002)]


def test_what_is_too_short_or_not_sound_is_waste():
    rotten = bar(2000, (100, 500), (1400, 1900), sound=lambda start, stop: 0)

    assert ("waste", 503, 1397) in told(stretches(rotten))
    assert ("waste", 503, 697) in told(stretches(bar(2000, (100, 500), (700, 1900))))


def test_parts_that_overlap_or_reach_beyond_the_bar_are_refused():
    for parts in ([(0, 500), (400, 600)], [(0, 2001)], [(500, 500)]):
        with pytest.raises(ValueError, match="no place on this bar"):
            stretches(bar(2000, *parts))


def test_a_stroke_is_said_with_its_mark_its_side_and_what_comes_free():
    found = strokes(stretches(bar(2000, (100, 1000))))

    assert [in_words(stroke, ["J5, north end"]) for stroke in found][:2] == [
        "Mark 100 mm from the marked end, saw before the mark: 97 mm of the old end comes off.",
        "Mark 1000 mm from the marked end, saw beyond the mark: “J5, north end”, 900 mm.",
    ]


@st.composite
def sawn(draw):
    kerf = draw(st.integers(0, 8))
    at = draw(st.integers(0, 200))
    parts = []
    for _ in range(draw(st.integers(1, 5))):
        length = draw(st.integers(20, 900))
        parts.append((at, at + length))
        at += length + kerf + draw(st.integers(0, 500))
    length = parts[-1][1] + draw(st.integers(0, 700))
    return bar(
        length, *parts, kerf_mm=kerf, trim_mm=draw(st.integers(0, 150)),
        old_ends=draw(st.booleans()), least=draw(st.integers(50, 400)),
    )  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(sawn())
def test_the_lengths_of_a_bar_follow_each_other_and_are_the_whole_of_it(drawn):
    found = stretches(drawn)

    assert found[0].from_mm == 0
    assert found[-1].to_mm == drawn.length_mm
    assert all(a.to_mm == b.from_mm for a, b in pairwise(found))
    assert all(stretch.length_mm > 0 for stretch in found)
    assert sum(totals(found).values()) == drawn.length_mm
    assert [(s.from_mm, s.to_mm) for s in found if s.kind == Kind.PART] == list(drawn.parts)
    kept = [s for s in found if s.kind == Kind.OFFCUT]
    assert all(s.length_mm >= drawn.least_offcut_mm for s in kept)
    marks = [stroke.at_mm for stroke in strokes(found)]
    assert marks == sorted(marks)


# When a part comes out otherwise than planned.


def planned(length_mm, start, stop, **fields):
    return Planned(length_mm=length_mm, sound_from_mm=start, sound_to_mm=stop, **fields)


def test_the_rest_of_a_sound_length_moves_along():
    rest = [planned(400, 100, 1900), planned(300, 2200, 2900)]

    assert shifted(rest, at_mm=1010, kerf_mm=3) == ([1013, 2200], [])
    assert shifted(rest, at_mm=0, kerf_mm=3) == ([100, 2200], [])


def test_of_parts_without_room_the_least_important_gives_way():
    rest = [planned(400, 100, 1900, rank=1), planned(400, 100, 1900), planned(300, 2200, 2900)]

    assert shifted(rest, at_mm=1200, kerf_mm=3) == ([None, 1203, 2200], [0])


def test_of_equals_the_pinned_one_stays_and_then_the_longest():
    assert shifted(
        [planned(300, 0, 1000, pinned=True), planned(400, 0, 1000)], at_mm=500, kerf_mm=3
    ) == ([503, None], [1])
    assert shifted([planned(300, 0, 1000), planned(400, 0, 1000)], at_mm=500, kerf_mm=3) == (
        [None, 503], [0],
    )  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(50, 500), st.integers(0, 2)), min_size=1, max_size=5),
    st.integers(1, 2500),
)
def test_whoever_stays_lies_in_its_sound_length_behind_the_saw(drawn, at_mm):
    rest = [planned(length, 100, 2000, rank=rank) for length, rank in drawn]

    begins, out = shifted(rest, at_mm=at_mm, kerf_mm=3)

    end = at_mm
    for number, (part, begin) in enumerate(zip(rest, begins, strict=True)):
        assert (begin is None) == (number in out)
        if begin is not None:
            assert begin >= max(100, end + 3)
            end = begin + part.length_mm
            assert end <= 2000


# What is left of a piece.


def test_the_defects_on_an_offcut_are_counted_from_its_own_end():
    old = PieceData(
        id=1, mark="T1", breadth_mm=50, depth_mm=100, length_mm=3000,
        defects=(
            DefectData(kind="knot", from_mm=900, to_mm=1100),
            DefectData(kind="split", from_mm=2800, to_mm=3000),
        ),
    )  # fmt: skip

    found = cut_out(old, 1000, 2000)

    assert found.length_mm == 1000
    assert [(one.kind, one.from_mm, one.to_mm) for one in found.defects] == [("knot", 0, 100)]


def test_an_offcut_is_worth_what_is_sound_in_it_and_its_ends_are_fresh():
    old = PieceData(
        id=1, mark="T1", breadth_mm=50, depth_mm=100, length_mm=3000,
        defects=(DefectData(kind="decay", from_mm=2600, to_mm=3000),),
    )  # fmt: skip

    assert sound_mm(old, 1000, 3000, SETTINGS) == 1300
    assert sound_mm(old, 500, 500, SETTINGS) == 0
