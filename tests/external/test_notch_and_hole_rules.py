"""Notch and hole rules of thumb against their printed zones and sizes.

LABC: labc.co.uk, notches and holes in solid timber joists, read (data file). NHBC 6.4.18 (2020),
read. US IRC R502.8.1 (2018), read in two summaries. Cables: BS 7671 522.6.201, read as quoted.
"""

import csv
from pathlib import Path

import pytest

from apps.checks.cut_rules import cut_rules
from apps.checks.cuts import against_rule
from apps.checks.drilling import where_to_drill
from apps.checks.joist import Bearing, Cut, Deck, JoistInput, Settings

FILE = Path(__file__).parent / "data" / "notch-and-hole-limits-labc.csv"
with FILE.open() as file:
    assert "labc.co.uk" in file.readline()
    ROWS = list(csv.DictReader(file))
ZONES = [row for row in ROWS if row["row_kind"] == "zone"]
SIZES = [row for row in ROWS if row["row_kind"] == "size"]
LABC, NHBC, IRC = (cut_rules(name) for name in ("labc", "nhbc_2020", "irc_2018"))


def joist(span=3600, depth=195.0, *, rules="labc", **more):
    ends = (Bearing(length_mm=90), Bearing(length_mm=90))
    return JoistInput(**{
        "span_mm": span, "breadth_mm": 47, "depth_mm": depth, "spacing_mm": 400,
        "strength_class": "C24", "grade_basis": "stamped", "dead_kn_m2": 0.4, "bearings": ends,
        "deck": Deck(thickness_mm=22), "moisture_pct": 20, "floor_width_mm": 4000,
        "strutting_rows": 1, "settings": Settings(notch_rules=rules), **more,
    })  # fmt: skip


def notch(at, size, depth, edge="top"):
    return Cut(at_mm=at, size_mm=size, depth_mm=depth, kind="notch", edge=edge)


def hole(at, size, edge="centre", depth=0):
    return Cut(at_mm=at, size_mm=size, depth_mm=depth, kind="hole", edge=edge)


@pytest.mark.parametrize("row", ZONES, ids=lambda row: row["span_or_depth_mm"])
def test_labc_zones(row):
    span, depth = int(row["span_or_depth_mm"]), 195
    low, high = int(row["notch_zone_from_mm"]), int(row["notch_zone_to_mm"])
    for at, allowed in ((low + 20, True), (low + 10, False), (high - 20, True), (high - 10, False)):
        assert (not against_rule(notch(at, 40, 20), span, depth, LABC)) is allowed
        assert (not against_rule(notch(span - at, 40, 20), span, depth, LABC)) is allowed
    low, high = int(row["hole_zone_from_mm"]), int(row["hole_zone_to_mm"])
    ranges = where_to_drill(joist(span), 22).ranges
    assert [(one.from_mm, one.to_mm) for one in ranges] == [
        (low + 11, high - 11), (span - high + 11, span - low - 11),
    ]  # fmt: skip


@pytest.mark.parametrize("row", SIZES, ids=lambda row: row["span_or_depth_mm"])
def test_labc_sizes(row):
    depth = float(row["span_or_depth_mm"])
    assert LABC.hole_limit_mm(depth) == pytest.approx(float(row["max_hole_dia_mm"]), abs=0.051)
    assert LABC.notch_limit_mm(depth) == pytest.approx(float(row["max_notch_depth_mm"]), abs=0.051)


def test_labc_worked_zone():
    """L 3600, h 195: notch at most 24 mm deep from 252 to 900 mm; hole at most 48 mm."""
    assert not against_rule(notch(272, 40, 24), 3600, 195, LABC)
    assert against_rule(notch(272, 40, 25), 3600, 195, LABC)
    assert against_rule(notch(880, 42, 24), 3600, 195, LABC)
    assert not against_rule(hole(1200, 48), 3600, 195, LABC)
    assert against_rule(hole(1200, 49), 3600, 195, LABC)


def test_nhbc_notches_only_the_top_edge_a_tenth_to_a_fifth_of_the_span():
    assert not against_rule(notch(500, 40, 29), 3600, 195, NHBC)
    assert against_rule(notch(500, 40, 29, "bottom"), 3600, 195, NHBC)
    assert against_rule(notch(360, 40, 20), 3600, 195, NHBC)
    assert against_rule(notch(740, 40, 20), 3600, 195, NHBC)
    assert against_rule(notch(500, 40, 30), 3600, 195, NHBC)
    assert not NHBC.covers(251)


def test_irc_leaves_the_middle_third_alone_and_holes_two_inches_from_the_edges():
    assert not against_rule(notch(500, 60, 32), 3600, 195, IRC)
    assert against_rule(notch(500, 60, 33), 3600, 195, IRC)
    assert against_rule(notch(500, 70, 30), 3600, 195, IRC)
    assert against_rule(notch(1800, 40, 10), 3600, 195, IRC)
    assert not against_rule(notch(0, 60, 48, "bottom"), 3600, 195, IRC)
    assert against_rule(notch(0, 60, 49, "bottom"), 3600, 195, IRC)
    assert not against_rule(hole(1800, 65), 3600, 195, IRC)
    assert against_rule(hole(1800, 66), 3600, 195, IRC)
    assert against_rule(hole(1800, 20, "top", 60), 3600, 195, IRC)


def test_a_deeper_joist_counts_as_250_mm_by_pd_6693():
    rules = cut_rules("pd_6693")
    assert rules.notch_limit_mm(300) == 31.25
    assert rules.hole_limit_mm(300) == 62.5


def test_no_cable_is_50_mm_from_both_faces_of_a_97_mm_joist():
    """A 145 mm joist has a band of 45 mm."""
    deep = where_to_drill(joist(depth=145), 20, "cable")
    assert not deep.protected
    narrow = where_to_drill(joist(depth=145), 46, "cable")
    assert narrow.refused
    low = where_to_drill(joist(depth=120), 22, "cable")
    assert low.protected
    assert where_to_drill(joist(depth=97), 20, "cable").refused
