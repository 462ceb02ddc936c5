"""Trimmers and trimming joists: beams with joists hung on them."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks import statics
from apps.checks.joist_input import Bearing
from apps.checks.settings import Settings
from apps.checks.trimming import PointLoad, TrimmerInput, check_trimmer, trimmed_joists


def commons(count=3, **fields):
    usual = {
        "first_mm": 400,
        "spacing_mm": 400,
        "joist_span_mm": 3000,
        "dead_kn_m2": 0.5,
        "count": count,
    }
    return trimmed_joists(**usual | fields)


def trimmer(**fields):
    usual = {
        "span_mm": 1600,
        "breadth_mm": 47,
        "depth_mm": 195,
        "strength_class": "C16",
        "points": commons(),
        "settings": Settings(design_span="clear"),
    }
    return TrimmerInput(**usual | fields)


def rows(answer):
    return {check.code: check for check in answer.outcome.checks}


def test_each_trimmed_joist_brings_the_half_of_what_stands_on_it():
    first, second, third = commons(joist_kn_m=0.05)
    assert [first.at_mm, second.at_mm, third.at_mm] == [400, 800, 1200]
    assert first.permanent_n == pytest.approx((0.5 * 0.4 + 0.05) * 1500)
    assert first.imposed_n == pytest.approx(1.5 * 0.4 * 1500)


def test_a_trimmer_bends_as_the_handbook_says_under_its_joists():
    given = trimmer()
    answer = check_trimmer(given)
    own = 47 * 195 * 370 * 9.81e-9 * 1.35
    points = [(1.35 * p.permanent_n + 1.5 * p.imposed_n, p.at_mm) for p in given.points]
    moment, _ = statics.greatest_moment(own, points, 1600)
    assert answer.figures["moment_knm"] == pytest.approx(moment * 1e-6, rel=1e-9)
    assert rows(answer)["bending"].demand == pytest.approx(moment / (47 * 195**2 / 6), rel=1e-9)
    assert answer.figures["reaction_kn"] == pytest.approx(
        statics.reactions(own, points, 1600)[0] * 1e-3
    )


def test_neighbours_never_help_a_trimmer():
    help_of_neighbours = trimmer(settings=Settings(design_span="clear", k_sys=1.1))
    none = trimmer(settings=Settings(design_span="clear", k_sys=1.0))
    assert check_trimmer(help_of_neighbours).outcome == check_trimmer(none).outcome


def test_two_pieces_carry_twice_as_much_and_must_be_bolted():
    one, two = check_trimmer(trimmer()), check_trimmer(trimmer(pieces=2))
    halves = rows(two)["bending"].demand / rows(one)["bending"].demand
    assert halves == pytest.approx(0.5, rel=0.02)  # their own weight is the rest
    assert "bolt-the-pieces" in {note.code for note in two.outcome.warnings}
    hung = 1.35 * commons()[0].permanent_n + 1.5 * commons()[0].imposed_n
    assert two.figures["between_pieces_kn"] == pytest.approx(hung / 2 * 1e-3)


def test_what_a_trimmer_puts_on_its_ends_loads_the_trimming_joist():
    left, right = check_trimmer(trimmer()).ends
    own = 47 * 195 * 370 * 9.81e-9 * 1600
    assert left.permanent_n + right.permanent_n == pytest.approx(
        sum(p.permanent_n for p in commons()) + own
    )
    assert left.imposed_n + right.imposed_n == pytest.approx(sum(p.imposed_n for p in commons()))
    carried = trimmer(
        kind="trimming_joist",
        span_mm=4000,
        pieces=2,
        strip_mm=400,
        dead_kn_m2=0.5,
        points=(replace(left, at_mm=1200),),
    )
    bare = check_trimmer(replace(carried, points=()))
    loaded = check_trimmer(carried)
    assert rows(loaded)["bending"].demand > rows(bare)["bending"].demand
    assert loaded.outcome.sentence.startswith("The trimming joist")


def test_old_rules_of_thumb_are_warnings_only():
    answer = check_trimmer(trimmer(span_mm=3600, points=commons(7), common_breadth_mm=47))
    codes = {note.code for note in answer.outcome.warnings}
    assert {"many-trimmed-joists", "not-thicker-than-commons", "no-cuts-by-rule"} <= codes


def test_a_trimming_joist_with_the_boards_up_may_buckle():
    free, held = (
        check_trimmer(trimmer(span_mm=4500, boards_on=on, points=())) for on in (False, True)
    )
    assert rows(free)["bending"].capacity < rows(held)["bending"].capacity


def test_a_short_bearing_presses_harder():
    short, long = (
        check_trimmer(trimmer(bearings=(Bearing(length_mm=mm), Bearing(length_mm=100))))
        for mm in (35, 100)
    )
    assert rows(short)["bearing"].demand > rows(long)["bearing"].demand


def test_damp_timber_is_given_no_capacity():
    answer = check_trimmer(trimmer(moisture_pct=26))
    assert answer.outcome.passes is None
    assert answer.ends == ()


@pytest.mark.parametrize(
    "wrong",
    [
        {"span_mm": 0},
        {"depth_mm": float("nan")},
        {"pieces": 0},
        {"kind": "rafter"},
        {"strength_class": "C99"},
        {"points": (PointLoad(at_mm=1700, permanent_n=1, imposed_n=1),)},
        {"bearings": (Bearing(length_mm=40),)},
        {"strip_mm": -1},
    ],
)
def test_what_is_no_trimmer_is_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        trimmer(**wrong)


def test_a_load_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="imposed load"):
        PointLoad(at_mm=1, permanent_n=1, imposed_n=float("nan"))


@settings(max_examples=25, deadline=None)
@given(
    st.integers(800, 5000),
    st.integers(0, 2000),
    st.floats(0, 3),
    st.floats(1, 2),
    st.integers(1, 3),
    st.booleans(),
)
def test_more_load_or_span_never_uses_less(span, more_mm, imposed, factor, pieces, boards):
    def most(length, load):
        points = trimmed_joists(
            first_mm=length / 4, spacing_mm=length / 4, count=3, joist_span_mm=2500,
            dead_kn_m2=0.5, imposed_kn_m2=load,
        )  # fmt: skip
        answer = check_trimmer(
            trimmer(span_mm=length, points=points, pieces=pieces, boards_on=boards)
        )
        assert all(0 <= check.utilisation < 1e9 for check in answer.outcome.checks)
        return max(check.utilisation for check in answer.outcome.checks)

    light = most(span, imposed)
    assert most(span, imposed * factor) >= light * (1 - 1e-9)
    assert most(span + more_mm, imposed) >= light * (1 - 1e-9)
