"""Drawn timber: true along its length, told without colour, no word read as SVG; typed lengths."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import combinations
from xml.etree import ElementTree

import pytest

from apps.pages.drawing.timber_bars import (
    ALONG,
    EDGE,
    BarDefect,
    BarPiece,
    BarStretch,
    cut_bar,
    piece_bar,
    section,
)
from apps.pages.drawing.timber_moisture import Chart, Forecast, moisture_chart
from apps.pages.drawing.timber_parts import LETTERS, WORDS, defect_pattern
from apps.pages.typed_lengths import typed_length_mm

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '"><script>alert(1)</script>'
CUTS = (
    BarStretch("trim", 0, 97),
    BarStretch("kerf", 97, 100),
    BarStretch("part", 100, 449, 1),
    BarStretch("kerf", 449, 452),
    BarStretch("offcut", 452, 3000),
)


def read(svg):
    return ElementTree.fromstring(svg)


def said(svg):
    return [one.text for one in read(svg).iter(f"{SVG}text")]


def boxes(svg):
    return [(float(one.get("x")), float(one.get("width"))) for one in read(svg).iter(f"{SVG}rect")]


def test_a_piece_and_its_defects_are_true_to_one_scale():
    piece = BarPiece("T1", 2000, (BarDefect("decay", 500, 1000),), ((1300, 1900),))

    drawn = boxes(piece_bar(piece, longest_mm=4000))

    assert drawn[0] == (EDGE, pytest.approx(ALONG / 2, abs=0.1))
    assert drawn[1] == (
        pytest.approx(EDGE + ALONG / 8, abs=0.1), pytest.approx(ALONG / 8, abs=0.1),
    )  # fmt: skip


def test_every_kind_of_defect_has_its_own_letter_and_pattern():
    patterns = [defect_pattern(kind, 0, 0, 60, 22) for kind in WORDS]

    assert len(set(LETTERS.values())) == len(WORDS)
    assert all(one != other for one, other in combinations(patterns, 2))


def test_sound_lengths_are_written_below_and_drawn_nails_are_a_small_letter():
    piece = BarPiece("T1", 3000, (BarDefect("nails", 900, 950, drawn=True),), ((100, 2900),))

    assert said(piece_bar(piece)) == ["n", "2800"]


def test_hostile_words_stay_words():
    for svg in (
        piece_bar(BarPiece(HOSTILE, 1000)),
        cut_bar(HOSTILE, 3000, CUTS, [100]),
        moisture_chart(Chart(HOSTILE, (), (), 20, date(2026, 3, 2)), HOSTILE),
    ):
        assert "<script" not in svg
        assert HOSTILE in read(svg).get("aria-label")


def test_a_cut_bar_is_true_and_dimensions_every_mark_from_the_one_end():
    svg = cut_bar("T1", 3000, CUTS, [100, 449, 3000])
    part = boxes(svg)[3]

    assert part == (
        pytest.approx(EDGE + 100 / 3000 * ALONG, abs=0.1),
        pytest.approx(349 / 3000 * ALONG, abs=0.1),
    )
    assert [words for words in said(svg) if words.isdigit() and len(words) > 1] == [
        "100", "449", "3000",
    ]  # fmt: skip


def test_the_dimensions_of_close_cuts_do_not_lie_on_each_other():
    svg = cut_bar("T1", 3000, CUTS, [100, 110, 120, 130, 2990, 3000])
    places = [
        (float(one.get("x")), float(one.get("y")), len(one.text) * 7.3)
        for one in read(svg).iter(f"{SVG}text")
        if len(one.text) > 2
    ]

    assert all(
        abs(x - other) >= (wide + other_wide) / 2 - 0.2
        for (x, y, wide), (other, other_y, other_wide) in combinations(places[:-1], 2)
        if y == other_y
    )


def test_sections_share_a_scale():
    small, large = (boxes(section(*size, deepest_mm=200)) for size in ((50, 100), (100, 200)))

    assert large[0][1] == pytest.approx(2 * small[0][1])


def test_the_chart_places_readings_limit_and_band():
    day = date(2026, 3, 2)
    points = tuple(
        Forecast(day + timedelta(days=n), 26 - n / 5, 25 - n / 5, 27 - n / 5) for n in range(60)
    )
    chart = Chart("T1", ((day, 26.0),), points, 20, day, dry_on=day + timedelta(days=30))

    svg = moisture_chart(chart, "T1 dries.")

    assert chart.at(day, 0)[1] - chart.at(day, 20)[1] == pytest.approx(
        20 * (chart.at(day, 0)[1] - chart.at(day, 1)[1])
    )
    assert "limit 20 %" in said(svg)
    assert "dry 1 Apr 2026" in said(svg)
    assert len(re.findall("polygon", svg)) == 1


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("2400", 2400), ("2400 mm", 2400), ("240cm", 2400), ("3.62m", 3620), ("3,62 m", 3620),
        ("11'10\"", 3607), ("11′ 10″", 3607), ("7 ft", 2134), ("10\"", 254), ("5' 1 1/2\"", 1562),
    ],
)  # fmt: skip
def test_lengths_are_read_as_people_write_them(written, mm):
    assert typed_length_mm(written) == mm


@pytest.mark.parametrize("written", ["", "2.4", "-3", "long", '1/0"', "3 m 2", "'", "9" * 30])
def test_what_is_no_length_is_refused_with_how_to_write_one(written):
    with pytest.raises(ValueError, match="Write a length like 2400"):
        typed_length_mm(written)
