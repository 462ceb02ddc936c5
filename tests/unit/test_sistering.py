"""A joist with a sister: who carries what, and what no sister repairs."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.joist import Bearing, Cut, Deck, JoistInput, check_joist
from apps.checks.sister_input import RANGES, SENTENCES
from apps.checks.sistering import (
    SisterFixings,
    SisterInput,
    SisterPiece,
    SisterSettings,
    check_sister,
)

M12 = SisterFixings(name="M12 bolt", characteristic_n=3416, slip_n_mm=3713, bolts=True)
WEAK = SisterFixings(name="thin nails", characteristic_n=100, slip_n_mm=600, spacing_mm=600)


def joist(**fields):
    usual = {
        "span_mm": 3600,
        "breadth_mm": 47,
        "depth_mm": 145,
        "spacing_mm": 400,
        "strength_class": "C16",
        "dead_kn_m2": 0.4,
        "deck": Deck(thickness_mm=21),
        "bearings": (Bearing(length_mm=100), Bearing(length_mm=100)),
    }
    return JoistInput(**usual | fields)


def sister(**fields):
    usual = {
        "breadth_mm": 47,
        "depth_mm": 145,
        "strength_class": "C24",
        "grade_basis": "stamped",
    }
    return SisterPiece(**usual | fields)


def short(low=600, high=3000, **fields):
    return sister(bearings=(None, None), from_mm=low, to_mm=high, **fields)


def check(old=None, new=None, fixings=M12, **fields):
    return check_sister(
        SisterInput(old=old or joist(), new=new or sister(), fixings=fixings, **fields)
    )


def used(answer, *codes):
    return max(c.utilisation for c in answer.outcome.checks if not codes or c.code in codes)


def blocked(answer):
    assert answer.outcome.passes is None
    assert answer.fixings is None
    return {note.code for note in answer.outcome.blocked}


def test_each_piece_carries_by_its_stiffness_and_answers_to_its_own_grade():
    answer = check()
    assert answer.figures["sister_share"] == pytest.approx(11 / 19)
    old, new = (
        next(c for c in answer.outcome.checks if c.code == code)
        for code in ("old_bending", "sister_bending")
    )
    assert new.demand / old.demand == pytest.approx(11 / 8)
    assert new.capacity / old.capacity == pytest.approx(24 / 16)


def test_a_joist_that_fails_alone_passes_with_a_sister():
    assert check_joist(joist()).outcome.passes is False
    assert check().outcome.passes


def test_a_like_sister_halves_what_bends_the_old_joist():
    """Same size and grade: one half each; alone it carries all, without help from neighbours."""
    twin = check(new=sister(strength_class="C16"))
    alone = check_joist(joist(load_sharing=False))
    assert twin.figures["sister_share"] == pytest.approx(0.5)
    one, two = (
        next(c.demand for c in found.outcome.checks if c.code == code)
        for found, code in ((alone, "bending"), (twin, "old_bending"))
    )
    assert two == pytest.approx(one / 2, rel=0.05)  # the sister's own weight is the rest


def test_a_sister_beside_a_rotten_end_carries_everything():
    answer = check(old=joist(decayed=((-100, 300),)))
    assert answer.figures["sister_share"] == 1
    codes = {c.code for c in answer.outcome.checks}
    assert "old_bending" not in codes
    assert {"sister_bending", "sister_deflection", "fixings_ends"} <= codes
    assert used(answer, "sister_bending") > used(check(), "sister_bending")


def test_a_sister_short_of_a_rotten_end_repairs_nothing():
    answer = check(old=joist(decayed=((-100, 700),)), new=short())
    assert "end-not-carried" in blocked(answer)
    assert "does not reach the bearing does not repair a rotten end" in answer.outcome.sentence


def test_a_sister_hung_at_the_rotten_end_and_lapped_over_sound_joist_is_worked_out():
    hung = sister(bearings=(Bearing(length_mm=75, kind="hanger"), None), to_mm=2700, depth_mm=195)
    answer = check(old=joist(decayed=((-100, 300),)), new=hung)
    assert answer.outcome.passes is not None
    codes = {c.code for c in answer.outcome.checks}
    assert {"sister_bearing_left", "old_bearing_right", "old_bending_bare"} <= codes
    assert "old_bearing_left" not in codes
    assert "hanger-of-the-sister" in {note.code for note in answer.outcome.warnings}


def test_a_sister_in_a_hanger_at_one_end_and_on_the_plate_at_the_other_is_full_length():
    hung = sister(
        bearings=(Bearing(length_mm=75, kind="hanger"), Bearing(length_mm=100)), depth_mm=195
    )
    answer = check(old=joist(decayed=((-100, 300),)), new=hung)
    assert answer.outcome.passes
    assert answer.figures["sister_share"] == 1


def test_the_old_joist_is_bare_at_a_short_sisters_ends():
    answer = check(new=short())
    full = check()
    assert answer.outcome.passes is False
    assert used(answer, "old_bending_bare") > used(full, "old_bending")
    assert answer.fixings.ends_n > answer.fixings.along_n
    assert answer.figures["deflection_final_mm"] > full.figures["deflection_final_mm"]


def test_the_shorter_the_sister_the_worse():
    answers = [check(new=short(low, 3600 - low)) for low in (100, 400, 700, 1000)]
    bare = [used(answer, "old_bending_bare") for answer in answers]
    sags = [answer.figures["deflection_final_mm"] for answer in answers]
    assert bare == sorted(bare)
    assert sags == sorted(sags)


def test_a_short_sister_without_fixings_is_given_no_capacity():
    assert blocked(check(new=short(), fixings=None)) == {"fixings-not-given"}


def test_weak_fixings_fail_and_the_sentence_says_to_take_more():
    answer = check(new=short(), fixings=WEAK)
    assert used(answer, "fixings_ends", "fixings_along") > 1
    assert answer.fixings.widest_spacing_mm is None
    assert "take more or stronger" in answer.fixings.sentence


def test_a_wider_spacing_than_the_one_named_does_not_carry():
    nails = replace(WEAK, characteristic_n=600, spacing_mm=300)
    answer = check(fixings=nails)
    widest = answer.fixings.widest_spacing_mm
    assert widest is not None
    tried = [check(fixings=replace(nails, spacing_mm=mm)) for mm in (widest, 600)]
    fixed = [used(one, "fixings_ends", "fixings_along") for one in tried]
    assert fixed[0] <= 1
    assert widest == 600 or fixed[1] > 1


def test_fixings_carry_least_when_the_deck_rests_on_both():
    both, old = (check(deck_on=on).fixings.along_n for on in ("both", "old"))
    assert both < old


def test_decay_beyond_a_short_sister_is_not_covered():
    assert "decay-not-covered" in blocked(check(old=joist(decayed=((300, 500),)), new=short()))


def test_decay_beside_a_short_sister_is_carried_past_where_there_is_room_for_fixings():
    assert check(old=joist(decayed=((1700, 1900),)), new=short()).outcome.passes is not None
    near = check(old=joist(decayed=((650, 900),)), new=short())
    assert "decay-at-the-sisters-end" in blocked(near)


def test_a_split_joist_wants_a_sister_on_both_bearings():
    assert "through-split" in blocked(check(old=joist(through_split=True), new=short()))
    assert check(old=joist(through_split=True)).figures["sister_share"] == 1


def test_an_old_notch_counts_against_the_old_joist_only():
    notch = Cut(at_mm=1800, size_mm=40, depth_mm=40, kind="notch")
    answer = check(old=joist(cuts=(notch,)))
    assert used(answer, "old_cut_1_bending") > used(check(), "old_bending")
    assert not any(c.code.startswith("sister_cut") for c in answer.outcome.checks)
    assert used(check(old=joist(cuts=(notch,)), new=short()), "old_bending") > used(
        check(new=short()), "old_bending"
    )


def test_a_damp_void_blocks_and_a_wet_sister_is_warned_of():
    assert "void-damp" in blocked(check(old=joist(void_moisture_pct=24)))
    answer = check(old=joist(moisture_pct=12), new=sister(moisture_pct=19))
    assert "moisture-apart" in {note.code for note in answer.outcome.warnings}


def test_a_cut_right_through_leaves_nothing_to_check():
    through = Cut(at_mm=1800, size_mm=40, depth_mm=145, kind="notch")
    assert "cut-through" in blocked(check(old=joist(cuts=(through,))))


def test_cautions_for_ungraded_timber_come_with_either_piece():
    lines = check(old=joist(grade_basis="stamped"), new=sister(grade_basis="assumed"))
    assert any("not graded" in line for line in lines.outcome.cautions)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: SisterInput(old=joist(), new=sister(), deck_on="neither"),
        lambda: SisterInput(old=joist(), new=sister(depth_mm=float("nan"))),
        lambda: SisterInput(old=joist(), new=short(1000, 1100)),
        lambda: SisterFixings(name="x", characteristic_n=float("nan"), slip_n_mm=1000),
        lambda: SisterFixings(name="x", characteristic_n=1000, slip_n_mm=0),
        lambda: SisterFixings(name="x", characteristic_n=1000, slip_n_mm=10, spacing_mm=0),
        lambda: SisterFixings(name="x", characteristic_n=1000, slip_n_mm=10, per_place=0),
        lambda: SisterSettings(farthest_share=1.0),
    ],
)
def test_what_is_no_sister_is_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        wrong()


def test_every_setting_has_a_range_and_a_sentence():
    fields = set(SisterSettings.__dataclass_fields__)
    assert fields == set(SENTENCES) == set(RANGES)


@settings(max_examples=15, deadline=None)
@given(
    st.integers(1500, 5500), st.integers(0, 1500), st.floats(0.2, 3), st.floats(0, 2),
    st.booleans(),
)  # fmt: skip
def test_more_load_or_span_never_uses_less(span, more_mm, imposed, more_kn, stops):
    def reach(length):
        return short(round(0.2 * length), round(0.8 * length)) if stops else sister()

    def most(length, load):
        answer = check(joist(span_mm=length, imposed_kn_m2=load), reach(length))
        checks = [c for c in answer.outcome.checks if c.code not in {"impulse", "frequency"}]
        assert all(0 <= c.utilisation < 1e9 for c in checks)
        pieces = [c.utilisation for c in checks if not c.code.startswith("fixings_")]
        return max(c.utilisation for c in checks), max(pieces)

    light, heavy = most(span, imposed), most(span, imposed + more_kn)
    assert heavy[0] >= light[0] * (1 - 1e-9)
    assert most(span + more_mm, imposed)[1] >= light[1] * (1 - 0.01)
