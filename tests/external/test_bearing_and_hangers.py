"""Bearings and hangers against published minima and the code's expression.

Sources:
- 90 mm on masonry: NHBC Good Craftsmanship Guide (studylib.net/doc/18399095), read.
- 40 mm, as span tables assume: NHBC Standards 6.4.8, read.
- 75 mm on the hanger and of the hanger on masonry, joist the full depth of the hanger, every round
  hole nailed: NHBC Standards 6.4.13 (2024), read.
- 675 mm of masonry above a built-in hanger: NHBC Technical Guidance 6.4/09, read.
- Packing hard only, slate or tile in mortar: NHBC Good Craftsmanship Guide, read.
- A gap of 6 mm at most behind the joist in its hanger: from memory, medium.
- σ_c,90,d ≤ k_c,90 f_c,90,d with 30 mm more on the inner side: EN 1995-1-1 6.1.5, from memory.
- Stacks of at most 3 packers and 25 mm: common practice, no source.
"""

import pytest

from apps.checks.bearing import BearingInput, BearingPacker, BearingSettings, Hanger, check_bearing


def bearing(**fields):
    usual = {
        "kind": "wall_plate",
        "length_mm": 100,
        "breadth_mm": 47,
        "depth_mm": 195,
        "strength_class": "C24",
        "permanent_n": 500,
        "imposed_n": 1080,
        "dpc": True,
    }
    return check_bearing(BearingInput(**usual | fields))


def hanger(**fields):
    usual = {
        "seat_mm": 75,
        "height_mm": 195,
        "breadth_mm": 48,
        "round_holes": 24,
        "nailed_holes": 24,
        "wall_bearing_mm": 75,
        "masonry_above_mm": 675,
        "gap_mm": 6,
    }
    return Hanger(**usual | fields)


def failed(answer):
    return {check.code for check in answer.outcome.checks if not check.passes}


@pytest.mark.parametrize(
    ("kind", "least_mm"), [("masonry_pocket", 90), ("wall_plate", 40), ("sleeper_wall", 40)]
)
def test_the_published_minima_are_met_exactly_and_missed_by_a_millimetre(kind, least_mm):
    assert bearing(kind=kind, length_mm=least_mm).outcome.passes
    assert failed(bearing(kind=kind, length_mm=least_mm - 1)) == {"length"}


def test_a_hanger_put_up_as_published_passes():
    assert bearing(kind="hanger", length_mm=75, hanger=hanger()).outcome.passes


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"seat_mm": 74}, "hanger_seat"),
        ({"nailed_holes": 23}, "hanger_nails"),
        ({"height_mm": 196}, "hanger_depth"),
        ({"wall_bearing_mm": 74}, "hanger_on_wall"),
        ({"masonry_above_mm": 674}, "hanger_masonry_above"),
        ({"gap_mm": 7}, "hanger_gap"),
    ],
)
def test_each_published_rule_of_hangers_is_asked(wrong, code):
    assert failed(bearing(kind="hanger", length_mm=75, hanger=hanger(**wrong))) == {code}


def test_a_joist_short_on_its_hanger_fails():
    assert failed(bearing(kind="hanger", length_mm=74, hanger=hanger())) == {"length"}


def test_crushing_is_force_over_the_length_and_thirty_millimetres_on_one_side():
    answer = bearing(length_mm=50)
    crushing = next(check for check in answer.outcome.checks if check.code == "crushing")
    assert crushing.demand == pytest.approx((1.35 * 500 + 1.5 * 1080) / (47 * 80))
    assert crushing.capacity == pytest.approx(0.8 * 2.5 / 1.3)


def test_the_factor_of_many_uk_examples_is_a_setting():
    by_default, generous = (
        next(check for check in answer.outcome.checks if check.code == "crushing")
        for answer in (bearing(), bearing(settings=BearingSettings(k_c_90=1.5)))
    )
    assert generous.capacity == pytest.approx(1.5 * by_default.capacity)


@pytest.mark.parametrize("material", ["softwood", "hardwood", "cardboard"])
def test_packing_that_is_not_hard_is_given_no_capacity(material):
    answer = bearing(packers=(BearingPacker(thickness_mm=6, material=material),))
    assert answer.outcome.passes is None
    assert [note.code for note in answer.outcome.blocked] == ["packing-soft"]


def test_a_stack_ends_at_three_packers_and_twenty_five_millimetres():
    slate = BearingPacker(thickness_mm=8, material="slate")
    assert bearing(packers=(slate,) * 3).outcome.passes
    assert failed(bearing(packers=(slate,) * 4)) == {"packing_height", "packing_pieces"}
