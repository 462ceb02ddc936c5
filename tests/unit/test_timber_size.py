"""What a measured section is called, and how sizes move and stray."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.timber_size import (
    CLS,
    OLD,
    REGULARISED,
    SAWN,
    customary,
    customary_name,
    grade_survives,
    size_at,
    stock_sections,
)


@pytest.mark.parametrize(
    ("breadth_mm", "depth_mm", "name", "tradition"),
    [
        (51, 152, "6x2", OLD),
        (48, 222, "9x2", OLD),
        (64, 76, "3x2½", OLD),
        (50, 150, "6x2", SAWN),
        (47, 145, "6x2", REGULARISED),
        (45, 145, "6x2", REGULARISED),
        (47, 147, "6x2", REGULARISED),
        (72, 195, "8x3", REGULARISED),
        (38, 89, "4x2", CLS),
    ],
)
def test_a_measured_section_has_its_name_and_its_tradition(breadth_mm, depth_mm, name, tradition):
    found = customary(breadth_mm, depth_mm)

    assert (found.name, found.tradition) == (name, tradition)
    assert found.sentence.startswith(f"{breadth_mm} × {depth_mm} mm is a {name}, {tradition}")


def test_a_shrunken_old_piece_that_measures_like_a_new_sawn_one_is_said_to_be_either():
    assert customary(50, 150).also == (OLD,)
    assert customary(50, 149).also == (SAWN,)
    assert "it may also be old full size" in customary(50, 150).sentence


def test_the_name_does_not_depend_on_which_way_up_it_was_measured():
    assert customary_name(150, 50) == customary_name(50, 150) == "6x2"


def test_a_wet_piece_is_named_by_what_it_will_measure_dry():
    swollen = size_at(145, 20, 30)

    assert customary(size_at(47, 20, 30), swollen, moisture_pct=30).tradition == REGULARISED
    assert customary(47, 150).tradition != REGULARISED


def test_a_section_of_no_customary_size_has_no_name():
    found = customary(33, 119)

    assert found.name == found.tradition == ""
    assert found.sentence == "33 × 119 mm is no customary size."


def test_every_stock_section_is_called_what_its_size_is_called():
    for section in stock_sections():
        assert customary_name(section.breadth_mm, section.depth_mm) == section.name


def test_a_grade_survives_five_millimetres_off_a_small_size_and_ten_off_a_large_one():
    assert grade_survives(75, 5)
    assert not grade_survives(75, 6)
    assert grade_survives(200, 10)
    assert not grade_survives(200, 11)


@settings(max_examples=100, deadline=None)
@given(st.floats(5, 600), st.floats(0, 60), st.floats(0, 60))
def test_drying_and_wetting_again_leaves_the_size_as_it_was(size, before, after):
    there = size_at(size, before, after)

    assert size_at(there, after, before) == pytest.approx(size)
    nearly = 1e-9 * size
    assert there <= size + nearly if after <= before else there >= size - nearly


@settings(max_examples=200, deadline=None)
@given(st.integers(5, 600), st.integers(5, 600))
def test_any_section_is_answered_in_a_sentence(breadth_mm, depth_mm):
    found = customary(breadth_mm, depth_mm)

    assert found.sentence.endswith(".")
    assert bool(found.name) == bool(found.tradition)
