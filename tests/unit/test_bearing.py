"""One end of a joist: what stops it, what is only a warning, and what is no bearing."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.bearing import BearingInput, BearingPacker, BearingSettings, Hanger, check_bearing
from apps.checks.bearing_input import HARD, MATERIALS, RANGES, SENTENCES


def end(**fields):
    usual = {
        "kind": "masonry_pocket",
        "length_mm": 100,
        "breadth_mm": 47,
        "depth_mm": 195,
        "strength_class": "C16",
        "permanent_n": 500,
        "imposed_n": 1080,
        "dpc": True,
        "treated": True,
    }
    return BearingInput(**usual | fields)


def hanger(**fields):
    usual = {
        "seat_mm": 80, "height_mm": 180, "breadth_mm": 48, "round_holes": 20, "nailed_holes": 20,
    }  # fmt: skip
    return Hanger(**usual | fields)


def warned(answer):
    return {note.code for note in answer.outcome.warnings}


def test_a_sound_bearing_passes_and_says_what_it_is_nearest_to():
    answer = check_bearing(end())
    assert answer.outcome.passes
    assert "the length borne on masonry" in answer.outcome.sentence


@pytest.mark.parametrize(("dpc", "code"), [(False, "no-dpc"), (None, "dpc-not-known")])
def test_timber_on_masonry_wants_a_damp_proof_course(dpc, code):
    assert code in warned(check_bearing(end(dpc=dpc)))
    assert code not in warned(check_bearing(end(kind="trimmer", dpc=dpc)))


def test_an_untreated_end_in_an_outer_wall_is_a_warning():
    assert "end-not-treated" in warned(check_bearing(end(outer_wall=True, treated=False)))
    assert "end-not-treated" not in warned(check_bearing(end(outer_wall=True)))


def test_a_concentrated_load_presses_harder_than_the_spread_one():
    answer = check_bearing(end(point_n=2000))
    rows = {check.code: check for check in answer.outcome.checks}
    assert rows["crushing_point"].demand > rows["crushing"].demand
    assert answer.figures["push_point_kn"] == pytest.approx((1.35 * 500 + 1.5 * 2000) / 1000)


@pytest.mark.parametrize("material", sorted(MATERIALS))
def test_only_hard_packing_is_checked_at_all(material):
    answer = check_bearing(end(packers=(BearingPacker(thickness_mm=5, material=material),)))
    assert (answer.outcome.passes is not None) == (material in HARD)
    assert "packing-fixed" in warned(answer)


def test_a_hanger_bearing_needs_its_hanger():
    codes = {note.code for note in check_bearing(end(kind="hanger")).outcome.blocked}
    assert codes == {"hanger-not-given"}


def test_a_hanger_without_a_nail_holds_nothing():
    answer = check_bearing(end(kind="hanger", hanger=hanger(nailed_holes=0)))
    assert {note.code for note in answer.outcome.blocked} == {"hanger-not-nailed"}


def test_a_low_hanger_lets_a_joist_twist():
    assert "hanger-low" in warned(check_bearing(end(kind="hanger", hanger=hanger(height_mm=100))))
    assert "hanger-maker" in warned(check_bearing(end(kind="hanger", hanger=hanger())))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: end(kind="thin air"),
        lambda: end(length_mm=0),
        lambda: end(permanent_n=float("nan")),
        lambda: end(permanent_n=0, imposed_n=0),
        lambda: end(hanger=hanger()),
        lambda: end(strength_class="C99"),
        lambda: end(service_class=4),
        lambda: hanger(nailed_holes=21),
        lambda: hanger(wall_bearing_mm=0),
        lambda: BearingPacker(thickness_mm=0, material="slate"),
        lambda: BearingPacker(thickness_mm=5, material="hope"),
        lambda: BearingSettings(combination="6.11"),
        lambda: BearingSettings(least_masonry_mm=float("nan")),
    ],
)
def test_what_is_no_bearing_is_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        wrong()


def test_every_setting_has_a_sentence():
    fields = set(BearingSettings.__dataclass_fields__)
    assert fields == set(SENTENCES)
    assert fields - {"combination"} == set(RANGES)


@settings(max_examples=30)
@given(st.integers(10, 300), st.integers(0, 100), st.floats(1, 20_000), st.floats(1, 3))
def test_more_load_or_less_length_never_uses_less(length, less, load, factor):
    def most(long, push):
        answer = check_bearing(end(length_mm=long, imposed_n=push, permanent_n=push / 3))
        assert all(0 <= check.utilisation < 1e9 for check in answer.outcome.checks)
        return max(check.utilisation for check in answer.outcome.checks)

    assert most(length, load * factor) >= most(length, load)
    assert most(max(length - less, 1), load) >= most(length, load)
