"""Notches and holes: what they leave, what is warned of, and where a hole may go."""

import math
from dataclasses import replace

import pytest
from hypothesis import given as over
from hypothesis import settings as effort
from hypothesis import strategies as st

from apps.checks.drilling import where_to_drill
from apps.checks.joist import Bearing, Cut, Deck, JoistInput, Settings, check_joist
from apps.checks.notched_end import k_v
from apps.checks.section import net_section


def joist(*cuts, **more):
    return JoistInput(**{
        "span_mm": 3600, "breadth_mm": 47, "depth_mm": 195, "spacing_mm": 400,
        "strength_class": "C24", "grade_basis": "stamped", "moisture_pct": 20, "dead_kn_m2": 0.5,
        "deck": Deck(thickness_mm=22), "floor_width_mm": 3600, "strutting_rows": 1,
        "bearings": (Bearing(length_mm=90), Bearing(length_mm=90)), "cuts": cuts, **more,
    })  # fmt: skip


def notch(at, size=50, depth=20, edge="top"):
    return Cut(at_mm=at, size_mm=size, depth_mm=depth, kind="notch", edge=edge)


def hole(at, size=22, edge="centre", depth=0):
    return Cut(at_mm=at, size_mm=size, depth_mm=depth, kind="hole", edge=edge)


def warned(one):
    return {note.code for note in check_joist(one).outcome.warnings}


def check(one, code):
    return next(c for c in check_joist(one).outcome.checks if c.code == code)


def cut_use(one):
    checks = check_joist(one).outcome.checks
    return max((c.utilisation for c in checks), default=math.inf)


def test_a_notch_leaves_a_shallower_rectangle():
    left = net_section(47, 195, [(155, 195)])
    assert left.modulus_mm3 == pytest.approx(47 * 155**2 / 6)
    assert left.inertia_mm4 == pytest.approx(47 * 155**3 / 12)


def test_a_hole_on_the_centre_line_takes_its_cube():
    left = net_section(47, 195, [(67.5, 127.5)])
    assert left.inertia_mm4 == pytest.approx(47 * (195**3 - 60**3) / 12)
    assert left.depth_mm == 135


def test_a_sliver_over_a_hole_does_not_weaken_the_rest():
    left = net_section(47, 195, [(130, 193)])
    assert left.modulus_mm3 == pytest.approx(47 * 130**2 / 6)


def test_nothing_is_left_of_a_joist_sawn_through():
    assert net_section(47, 195, [(0, 100), (90, 195)]) is None


def test_a_notch_is_checked_where_it_is():
    """M at 900 mm of 3690 against W of 171 mm; both by hand."""
    one = joist(notch(900, depth=24))
    figures = check_joist(one).figures
    w = 1.35 * figures["permanent_kn_m"] + 1.5 * figures["imposed_kn_m"]
    at = 45 + 925
    point = 1.35 * figures["permanent_kn_m"] * at * (3690 - at) / 2 + 3000 * at * (3690 - at) / 3690
    spread = w * at * (3690 - at) / 2
    stress = max(point, spread) / (47 * 171**2 / 6)
    assert check(one, "cut_1_bending").demand == pytest.approx(stress)


def test_a_notch_under_the_bearing_splits_the_joist():
    """Corner 65 mm from the reaction: 45 mm to the face, and 20 mm beyond."""
    one = joist(notch(0, size=40, depth=40, edge="bottom"))
    end = check(one, "cut_1_end_notch")
    assert end.capacity == pytest.approx(k_v(195, 155, 65) * 0.8 * 4.0 / 1.3)
    whole = check(joist(), "shear_point")
    assert end.demand == pytest.approx(whole.demand * 195 / 155)
    right = joist(notch(3600, size=40, depth=40, edge="bottom"))
    assert check(right, "cut_1_end_notch").capacity == pytest.approx(end.capacity)
    assert "notch-below" in warned(one)


def test_a_notch_in_the_top_over_the_bearing_does_not_split():
    answer = check_joist(joist(notch(0, size=40, depth=40)))
    assert not any(c.code.endswith("end_notch") for c in answer.outcome.checks)


def test_the_crack_factor_at_an_end_notch_can_be_left_out():
    cut = notch(0, size=40, depth=40, edge="bottom")
    bare = joist(cut, settings=Settings(notch_keeps_k_cr=False))
    kept = check(joist(cut), "cut_1_end_notch").demand
    assert check(bare, "cut_1_end_notch").demand == pytest.approx(kept * 0.67)


def test_cuts_at_the_same_place_are_taken_together():
    both = joist(notch(900, depth=24), notch(900, depth=24, edge="bottom"))
    assert check(both, "cut_1_bending").demand > check(
        joist(notch(900, depth=24)), "cut_1_bending"
    ).demand * 1.3  # fmt: skip
    assert "notched-both-edges" in warned(both)


def test_outside_the_rule_is_a_warning_and_the_calculation_decides():
    one = joist(notch(1500, depth=30))
    assert "cut-outside-rule" in warned(one)
    assert check_joist(one).outcome.passes is True
    assert "cut-outside-rule" not in warned(joist(notch(600, depth=24)))


def test_the_rule_is_the_one_of_the_settings():
    cut = notch(300, depth=20)
    assert "cut-outside-rule" not in warned(joist(cut))
    assert "cut-outside-rule" in warned(joist(cut, settings=Settings(notch_rules="nhbc_2020")))


def test_an_old_notch_too_near_a_hole_fails_and_a_near_one_is_warned_of():
    near = joist(notch(870, size=50), hole(970))
    assert check(near, "notch_to_hole").passes is False
    assert check_joist(near).outcome.passes is False
    fair = joist(notch(870, size=50), hole(1050))
    assert check(fair, "notch_to_hole").passes is True
    assert "notch-near-hole" in warned(fair)
    far = joist(notch(600, size=50), hole(1050))
    assert "notch-near-hole" not in warned(far)


def test_two_holes_keep_three_diameters():
    assert "holes-near" in warned(joist(hole(1100), hole(1160)))
    assert "holes-near" not in warned(joist(hole(1100), hole(1166)))


def test_a_shallow_joist_is_not_cut_by_rule_of_thumb():
    one = joist(notch(300, depth=10), depth_mm=97, span_mm=1500)
    assert "too-shallow-to-cut" in warned(one)


def test_where_a_hole_may_go_and_what_limits_it():
    answer = where_to_drill(joist(hole(1200), notch(800)), 22)
    assert [(one.from_mm, one.to_mm, one.with_care) for one in answer.ranges] == [
        (936, 1036, True), (1036, 1134, False), (1266, 1429, False), (2171, 2689, False),
    ]  # fmt: skip
    assert "notch at 800" in answer.ranges[0].limited_left
    assert "hole at 1200" in answer.ranges[1].limited_right
    assert answer.height_mm == (97.5, 97.5)
    assert answer.sentence.startswith("The middle of a 22 mm hole may be at 936 to 1036 mm")


def test_a_hole_where_it_is_allowed_is_inside_the_rule_once_it_is_there():
    old = (hole(1200), notch(600))
    for one in where_to_drill(joist(*old), 22).ranges:
        for at in (one.from_mm, one.to_mm):
            drilled = joist(*old, hole(at))
            assert not warned(drilled) & {"cut-outside-rule", "holes-near"}
            assert check(drilled, "notch_to_hole").passes


@pytest.mark.parametrize(
    ("more", "diameter", "code"),
    [
        ({"depth_mm": 97}, 20, "too-shallow-to-cut"),
        ({}, 49, "hole-too-wide"),
        ({"load_sharing": False}, 22, "not-a-common-joist"),
        ({"decayed": ((0, 100),)}, 22, "unsound"),
        ({"depth_mm": 260, "settings": Settings(notch_rules="nhbc_2020")}, 22, "too-deep-for-rule"),
        ({"depth_mm": 120, "settings": Settings(notch_rules="irc_2018")}, 30, "no-height-left"),
    ],
)
def test_where_no_hole_may_go_at_all(more, diameter, code):
    answer = where_to_drill(joist(**more), diameter)
    assert code in {note.code for note in answer.refused}
    assert answer.ranges == ()
    assert answer.height_mm is None
    assert answer.sentence.startswith("Do not drill")


def test_a_gas_pipe_is_for_a_registered_engineer():
    answer = where_to_drill(joist(), 22, "gas_pipe")
    assert "registered gas engineer" in answer.cautions[0]
    deep = where_to_drill(joist(depth_mm=260), 22, "gas_pipe")
    assert {note.code for note in deep.refused} == {"gas-depth"}


def test_a_joist_that_fails_anyway_is_told_before_it_is_drilled():
    answer = where_to_drill(joist(span_mm=5500), 22)
    assert answer.warnings[0].code == "joist-not-adequate"


def test_by_the_american_rule_a_hole_may_be_anywhere_between_two_inches():
    one = joist(settings=Settings(notch_rules="irc_2018"))
    answer = where_to_drill(one, 22)
    assert [(r.from_mm, r.to_mm) for r in answer.ranges] == [(11, 3589)]
    assert answer.height_mm == (pytest.approx(61.8), pytest.approx(133.2))


@pytest.mark.parametrize(("diameter", "purpose"), [(0, "pipe"), (math.nan, "pipe"), (22, "rope")])
def test_a_hole_that_makes_no_sense_is_refused_with_a_sentence(diameter, purpose):
    with pytest.raises(ValueError, match=r"\.$"):
        where_to_drill(joist(), diameter, purpose)


CUTS = st.builds(
    Cut,
    at_mm=st.integers(-50, 1800),
    size_mm=st.integers(0, 150),
    depth_mm=st.integers(0, 190),
    kind=st.just("notch"),
    edge=st.sampled_from(["top", "bottom", "centre"]),
) | st.builds(
    Cut,
    at_mm=st.integers(-50, 1800),
    size_mm=st.integers(0, 150),
    depth_mm=st.integers(0, 190),
    kind=st.just("hole"),
    edge=st.just("centre"),
)


@effort(max_examples=120, deadline=None)
@over(CUTS, st.integers(0, 100), st.integers(0, 100), st.integers(0, 400))
def test_a_cut_that_grows_never_leaves_more(cut, longer, deeper, further):
    grown = replace(cut, size_mm=cut.size_mm + longer, depth_mm=cut.depth_mm + deeper)
    before, after = cut_use(joist(cut)), cut_use(joist(grown))
    assert cut_use(joist()) <= before * (1 + 1e-12)
    assert after >= before * (1 - 1e-9)
    one = joist(grown)
    assert cut_use(replace(one, span_mm=one.span_mm + further)) >= after * (1 - 1e-9)


@effort(max_examples=60, deadline=None)
@over(st.lists(CUTS, max_size=4), st.integers(1, 100), st.integers(80, 320))
def test_any_cuts_get_an_answer_with_finite_numbers(cuts, diameter, depth):
    one = joist(*cuts, depth_mm=depth)
    for c in check_joist(one).outcome.checks:
        assert math.isfinite(c.utilisation)
    for place in where_to_drill(one, diameter).ranges:
        assert 0 <= place.from_mm <= place.to_mm <= 3600
