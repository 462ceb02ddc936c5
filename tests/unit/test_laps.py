"""A new end lapped onto an old joist: what passes, what does not, and what it says."""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.fastener_settings import FixingSettings
from apps.checks.fasteners import COMMON, Fastener
from apps.checks.joist_input import Bearing, Cut, Deck, JoistInput, Partition
from apps.checks.laps import LapInput, check_lap, lap_needed_mm


def joist(**fields):
    usual = {
        "span_mm": 3000, "breadth_mm": 47, "depth_mm": 170, "spacing_mm": 400,
        "strength_class": "C24", "grade_basis": "stamped", "dead_kn_m2": 0.5,
        "deck": Deck(thickness_mm=21), "floor_width_mm": 4000,
        "bearings": (Bearing(length_mm=90), Bearing(length_mm=90)),
    }  # fmt: skip
    return JoistInput(**(usual | fields))


def lap(of=None, **fields):
    usual = {
        "joist": of or joist(), "cut_mm": 300, "lap_mm": 700, "breadth_mm": 47, "depth_mm": 170,
        "strength_class": "C24", "mark": "J5",
    }  # fmt: skip
    return LapInput(**(usual | fields))


def used(found, code):
    return next(one.utilisation for one in found.outcome.checks if one.code == code)


def most_used(found):
    return max(one.utilisation for one in found.outcome.checks)


def test_a_lap_long_enough_passes_and_says_so():
    found = check_lap(lap())
    assert found.outcome.passes
    assert found.outcome.sentence.startswith("J5's lap of 700 mm passes the lap check at ")
    assert found.pattern is not None
    assert found.pattern.length_mm == found.lap_mm == 700


def test_the_same_lap_shortened_fails_and_says_by_how_much():
    found = check_lap(lap(lap_mm=360))
    assert found.outcome.passes is False
    percent = round(most_used(found) * 100)
    assert percent > 100
    assert found.outcome.sentence.startswith(
        f"J5's lap of 360 mm fails the lap check at {percent} %."
    )


def test_a_lap_without_room_for_its_fixings_fails_by_its_length_alone():
    found = check_lap(lap(lap_mm=200))
    assert [one.code for one in found.outcome.checks] == ["lap_length"]
    assert "The lap reaches 200 mm; at least 230 mm wanted" in found.outcome.sentence
    assert found.pattern is None


def test_the_least_lap_passes_and_ten_millimetres_less_does_not():
    needed = lap_needed_mm(lap(lap_mm=None))
    assert needed.lap_mm is not None
    assert needed.lap.outcome.passes
    assert needed.lap_mm % 10 == 0
    assert check_lap(lap(lap_mm=needed.lap_mm - 10)).outcome.passes is False
    assert needed.sentence.startswith(f"J5's lap has to be at least {needed.lap_mm} mm. ")
    assert needed.lap.pattern.sentence in needed.sentence


def test_asked_without_a_lap_the_check_takes_the_least_one():
    found, needed = check_lap(lap(lap_mm=None)), lap_needed_mm(lap())
    assert found.lap_mm == found.given.lap_mm == needed.lap_mm


def test_where_no_lap_is_long_enough_it_gives_the_nearest():
    needed = lap_needed_mm(lap(settings=FixingSettings(most_lap_mm=330)))
    assert needed.lap_mm is None
    assert needed.sentence.startswith(
        "No lap up to 330 mm passes. The nearest: J5's lap of 330 mm "
    )
    assert needed.lap.outcome.passes is False


def test_where_the_joist_itself_fails_it_says_that_no_lap_helps():
    needed = lap_needed_mm(lap(of=joist(strength_class="C14", span_mm=4500)))
    assert needed.lap_mm is None
    assert needed.sentence.startswith("No lap helps here. Over the whole span the ")
    assert needed.lap.outcome.passes is False


def test_where_the_joist_is_too_short_for_any_lap_it_says_so():
    needed = lap_needed_mm(lap(of=joist(span_mm=500), cut_mm=400, lap_mm=None))
    assert needed.lap_mm is None
    assert needed.sentence == (
        "There is no room for a lap: 230 mm is the shortest, and 100 mm the longest there may be."
    )
    with pytest.raises(ValueError, match="There is no room for a lap"):
        check_lap(lap(of=joist(span_mm=500), cut_mm=400, lap_mm=None))


def test_fixings_that_do_not_fit_the_pieces_are_refused_with_the_reason():
    shallow = lap(of=joist(depth_mm=90), depth_mm=90, lap_mm=None)
    assert "too shallow" in lap_needed_mm(shallow).sentence
    short = Fastener(kind="screw", diameter_mm=6, length_mm=60, root_mm=4)
    with pytest.raises(ValueError, match="reaches 13 mm into the second piece"):
        check_lap(lap(fastener=short))


def test_the_right_end_is_the_left_end_seen_from_the_other_side():
    one_sided = joist(
        bearings=(Bearing(length_mm=60), Bearing(length_mm=100)),
        cuts=(Cut(at_mm=2000, size_mm=30, depth_mm=15, kind="notch"),),
        partitions=(Partition(line="across", kn_m=1.0, at_mm=1200),),
    )
    turned = joist(
        bearings=(Bearing(length_mm=100), Bearing(length_mm=60)),
        cuts=(Cut(at_mm=1000, size_mm=30, depth_mm=15, kind="notch"),),
        partitions=(Partition(line="across", kn_m=1.0, at_mm=1800),),
    )
    left, right = check_lap(lap(one_sided)), check_lap(lap(turned, end="right"))
    assert [one.utilisation for one in right.outcome.checks] == pytest.approx(
        [one.utilisation for one in left.outcome.checks]
    )


def test_rot_that_is_sawn_off_does_not_matter_and_rot_that_stays_blocks():
    gone = check_lap(lap(joist(decayed=((-50, 250),))))
    assert gone.outcome.passes
    stays = check_lap(lap(joist(decayed=((200, 380),))))
    assert stays.outcome.passes is None
    assert stays.outcome.checks == ()
    assert "There is decay (300 to 380 mm)" in stays.outcome.sentence
    assert lap_needed_mm(lap(joist(decayed=((200, 380),)))).lap_mm is None


def test_a_damp_void_blocks():
    assert check_lap(lap(joist(void_moisture_pct=24))).outcome.passes is None


def test_an_old_notch_within_the_lap_is_checked_on_what_it_leaves():
    notched = joist(cuts=(Cut(at_mm=600, size_mm=60, depth_mm=40, kind="notch"),))
    found, whole = (check_lap(lap(one, columns=2)) for one in (notched, joist()))
    assert used(found, "shear_old_cut") > used(whole, "shear_old")
    assert "cut-in-lap" in {one.code for one in found.outcome.warnings}


@pytest.mark.parametrize("at_mm", [600, 1500], ids=["within the lap", "beyond it"])
def test_a_cut_right_through_leaves_nothing_to_lap_onto(at_mm):
    sawn = joist(cuts=(Cut(at_mm=at_mm, size_mm=10, depth_mm=170, kind="notch"),))
    with pytest.raises(ValueError, match="leaves nothing of the old joist"):
        check_lap(lap(sawn))
    assert "leaves nothing of the old joist" in lap_needed_mm(lap(sawn)).sentence


def test_a_notch_that_is_sawn_off_is_forgotten_and_one_beyond_the_lap_is_not():
    off = joist(cuts=(Cut(at_mm=100, size_mm=30, depth_mm=80, kind="notch"),))
    beyond = joist(cuts=(Cut(at_mm=1500, size_mm=30, depth_mm=80, kind="notch"),))
    assert check_lap(lap(off)).outcome == check_lap(lap()).outcome
    assert used(check_lap(lap(beyond)), "joist_cut_1_bending") > used(
        check_lap(lap()), "joist_bending"
    )


def test_new_timber_on_both_sides_needs_less_lap_and_no_word_of_twisting():
    one, both = lap_needed_mm(lap(sides=1)), lap_needed_mm(lap(sides=2))
    assert both.lap_mm < one.lap_mm
    assert "one-sided" in {note.code for note in one.lap.outcome.warnings}
    assert "one-sided" not in {note.code for note in both.lap.outcome.warnings}
    with pytest.raises(ValueError, match="both sides is fixed with bolts"):
        lap(sides=2, fastener=COMMON["screw_6x100"])


def test_tight_holes_sag_less():
    loose, tight = (
        check_lap(lap(settings=FixingSettings(hole_clearance_mm=gap))) for gap in (1.0, 0.0)
    )
    assert tight.figures["sag_of_clearance_mm"] == 0
    assert loose.figures["sag_final_mm"] > tight.figures["sag_final_mm"]
    screws = check_lap(lap(fastener=COMMON["screw_6x100"], lap_mm=1000))
    assert screws.figures["sag_of_clearance_mm"] == 0
    assert screws.figures["sag_of_slip_mm"] > 0


def test_boards_that_rest_on_both_pieces_are_kinder_to_the_fixings():
    shared = check_lap(lap(columns=2, settings=FixingSettings(lap_load="shared")))
    assert used(shared, "fixing") < used(check_lap(lap(columns=2)), "fixing")


def test_with_the_boards_off_the_pieces_may_buckle():
    off = check_lap(lap(joist(boards_on=False, depth_mm=245), depth_mm=245))
    on = check_lap(lap(joist(depth_mm=245), depth_mm=245))
    assert used(off, "bending_old") > used(on, "bending_old")


def test_a_softer_new_piece_shakes_more():
    soft = check_lap(lap(strength_class="C14"))
    assert used(soft, "joist_frequency") > used(check_lap(lap()), "joist_frequency")


def test_a_result_carries_the_cautions_of_the_less_certain_timber_and_of_laps():
    stamped = check_lap(lap()).outcome
    assumed = check_lap(lap(joist(grade_basis="assumed"))).outcome
    nobody = check_lap(lap(grade_basis="graded_by", graded_by=" ")).outcome
    for found in (assumed, nobody):
        assert "not graded" in found.cautions[0]
        assert "grade-assumed" in {note.code for note in found.warnings}
    assert "grade-assumed" not in {note.code for note in stamped.warnings}
    for found in (stamped, assumed):
        assert any("Prop the old joist on both sides" in one for one in found.cautions)
        assert any("European Technical Assessment" in one for one in found.cautions)
        assert any("building control" in one for one in found.cautions)


def test_hardwood_is_told_that_the_splitting_rule_is_for_softwood():
    oak = check_lap(lap(strength_class="D30"))
    assert "splitting-softwood" in {note.code for note in oak.outcome.warnings}


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"end": "top"}, "The end of a lap is one of left, right"),
        ({"sides": 3}, "On how many sides"),
        (
            {"cut_mm": 2500, "lap_mm": 600},
            "longer than the clear span of 3000 mm: that is a sister",
        ),
        ({"columns": 9}, "The columns of fasteners"),
        ({"rows": 0}, "The fasteners in a column"),
        ({"breadth_mm": math.nan}, "The breadth of the new piece"),
        ({"strength_class": "C99"}, "is no strength class"),
        ({"grade_basis": "guessed"}, "How the class is known"),
    ],
)
def test_what_cannot_be_a_lap_is_refused_with_a_sentence(fields, sentence):
    with pytest.raises(ValueError, match=sentence):
        lap(**fields)


LAPS = st.builds(
    lambda span, cut, share, depth, imposed, kind: lap(
        joist(span_mm=span, depth_mm=depth, imposed_kn_m2=imposed),
        cut_mm=cut, lap_mm=round(share * (span - cut)), depth_mm=depth, fastener=COMMON[kind],
        columns=2,
    ),
    span=st.integers(1500, 4500),
    cut=st.integers(0, 700),
    share=st.floats(0.45, 1.0),
    depth=st.sampled_from([145, 170, 195, 220]),
    imposed=st.floats(0, 5),
    kind=st.sampled_from(["bolt_m10", "bolt_m12", "screw_6x100", "nail_3.35x75"]),
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(given_lap=LAPS, more=st.floats(0, 3))
def test_more_load_never_leaves_more_in_hand(given_lap, more):
    heavier = replace(
        given_lap,
        joist=replace(given_lap.joist, imposed_kn_m2=given_lap.joist.imposed_kn_m2 + more),
    )
    light, heavy = check_lap(given_lap).outcome.checks, check_lap(heavier).outcome.checks
    for one, two in itertools.zip_longest(light, heavy):
        assert one.code == two.code
        assert two.utilisation >= one.utilisation * (1 - 1e-9)


@settings(max_examples=25, deadline=None)
@given(
    span=st.integers(2400, 4500),
    cut=st.integers(0, 300),
    share=st.floats(0.45, 1.0),
    kind=st.sampled_from(["bolt_m10", "bolt_m12", "screw_6x100", "nail_3.35x75"]),
    longer=st.integers(0, 1500),
)
def test_a_longer_span_never_leaves_more_in_hand(span, cut, share, kind, longer):
    """All else the same. The lap lies in its own half of the span: past the middle the shear at a
    place grows less when the far bearing moves away."""
    short, long = (
        lap(
            joist(span_mm=one), cut_mm=cut, lap_mm=round(share * (span / 2 - cut)),
            fastener=COMMON[kind], columns=2,
        )
        for one in (span, span + longer)
    )  # fmt: skip
    assert most_used(check_lap(long)) >= most_used(check_lap(short)) * (1 - 1e-9)


@settings(max_examples=25, deadline=None)
@given(given_lap=LAPS)
def test_every_figure_is_finite(given_lap):
    found = check_lap(given_lap)
    figures = [*found.figures.values()]
    for one in found.outcome.checks:
        figures += [one.demand, one.capacity, one.utilisation]
    assert all(math.isfinite(figure) for figure in figures)
