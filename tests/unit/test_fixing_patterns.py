"""Fixings set out beside each other: room, distances, and the drawing."""

import itertools
import xml.etree.ElementTree as ET

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from apps.checks.fasteners import COMMON, Fastener
from apps.checks.fixing_drawing import drawn
from apps.checks.fixing_patterns import least_length_mm, two_groups, up_the_depth
from apps.checks.spacings import either_way

ROOT_SHARE = 0.6
M12 = COMMON["bolt_m12"]


def groups(fastener, length_mm, depth_mm, columns=1, rows=None):
    return two_groups(
        fastener, length_mm=length_mm, depth_mm=depth_mm, columns=columns, rows=rows,
        root_share=ROOT_SHARE,
    )  # fmt: skip


def test_bolts_go_in_two_rows_as_far_apart_as_the_edges_allow():
    pattern = groups(M12, 600, 195)
    assert pattern.columns == (85, 515)
    assert pattern.heights == (48, 147)
    assert pattern.count == len(pattern.positions) == 4
    assert pattern.sentence == (
        "2 M12 bolts near each end, 4 in all: 85 mm from each end, 48 mm and 147 mm above the "
        "lower edge of the shallower piece."
    )


def test_a_shallow_joist_takes_one_bolt_in_a_column_in_its_middle():
    assert groups(M12, 600, 120).heights == (60,)


def test_a_joist_too_shallow_for_any_is_refused_with_the_depth_it_wants():
    with pytest.raises(
        ValueError, match="90 mm deep is too shallow for one of M12 bolt: with 48 mm"
    ):
        groups(M12, 600, 90)


def test_more_rows_than_fit_are_refused_and_not_quietly_dropped():
    with pytest.raises(ValueError, match="too shallow for 4 in a column of M12 bolt"):
        groups(M12, 600, 195, rows=4)


def test_a_stretch_too_short_is_refused_with_the_length_it_wants():
    wanted = least_length_mm(M12, 2, root_share=ROOT_SHARE)
    assert wanted == 2 * 85 + 3 * 60
    assert groups(M12, wanted, 195, columns=2).columns == (85, 145, 205, 265)
    with pytest.raises(ValueError, match=f"349 mm is too short for 2 columns .* want {wanted} mm"):
        groups(M12, wanted - 1, 195, columns=2)


def test_the_drawing_shows_every_fixing_and_every_distance():
    pattern = groups(M12, 600, 195, columns=2)
    svg = ET.fromstring(drawn(pattern))
    name = "{http://www.w3.org/2000/svg}"
    assert len(svg.findall(f".//{name}circle")) == pattern.count
    told = [one.text for one in svg.iter(f"{name}text")]
    assert told == ["85", "60", "310", "60", "85", "48", "99", "48"]
    assert svg.find(f"{name}title").text == pattern.sentence
    assert {one.get("stroke") for one in svg.iter() if one.get("stroke")} == {"black", "none"}


@settings(max_examples=60, deadline=None)
@given(
    kind=st.sampled_from(sorted(COMMON)),
    predrilled=st.booleans(),
    depth=st.floats(60, 300),
    columns=st.integers(1, 3),
    spare=st.integers(0, 900),
)
def test_a_pattern_keeps_every_distance(kind, predrilled, depth, columns, spare):
    chosen = COMMON[kind]
    fastener = Fastener(
        kind=chosen.kind, diameter_mm=chosen.diameter_mm, length_mm=chosen.length_mm,
        root_mm=chosen.root_mm, predrilled=predrilled,
    )  # fmt: skip
    least = either_way(fastener, root_share=ROOT_SHARE)
    assume(depth >= 2 * least.loaded_edge_mm + 1)
    length = least_length_mm(fastener, columns, root_share=ROOT_SHARE) + spare
    pattern = groups(fastener, length, depth, columns)
    for one, two in itertools.combinations(pattern.positions, 2):
        along, up = abs(one.along_mm - two.along_mm), abs(one.up_mm - two.up_mm)
        assert along >= least.along_mm or up >= least.across_mm
    for one in pattern.positions:
        assert least.end_mm <= one.along_mm <= length - least.end_mm
        assert least.loaded_edge_mm <= one.up_mm <= depth - least.loaded_edge_mm
    assert all(one.used_mm >= one.least_mm for one in pattern.distances)
    assert pattern.heights == up_the_depth(fastener, depth, root_share=ROOT_SHARE)
