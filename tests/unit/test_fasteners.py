"""One nail, screw or bolt between two pieces: what it wants, and what it never does."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.fastener_settings import RANGES, SENTENCES, FixingSettings
from apps.checks.fasteners import (
    COMMON,
    Fastener,
    Ply,
    counted,
    double_shear,
    effective_diameter_mm,
    embedment_n_mm2,
    single_shear,
    unfit,
)
from apps.checks.spacings import either_way, least_distances
from apps.checks.splitting import f_90_rk_n
from apps.checks.strength import CLASSES, strength_class

ROOT_SHARE = 0.6
BOLT, NAIL, SCREW = COMMON["bolt_m12"], COMMON["nail_3.35x75"], COMMON["screw_6x100"]


def ply(thickness, grade="C16", angle=90.0):
    return Ply(thickness_mm=thickness, grade=strength_class(grade), angle_deg=angle)


def strength(fastener, first, second, axial_n=0.0):
    return single_shear(fastener, first, second, root_share=ROOT_SHARE, axial_n=axial_n).f_v_rk_n


def test_a_nail_that_hardly_reaches_the_second_piece_is_refused_with_the_reach_it_wants():
    short = Fastener(kind="nail", diameter_mm=3.35, length_mm=60)
    with pytest.raises(ValueError, match="reaches 13 mm into the second piece, and at least 27 mm"):
        strength(short, ply(47), ply(47))


def test_a_ringed_nail_wants_less_penetration_than_a_plain_one():
    ringed = Fastener(kind="nail", diameter_mm=3.35, length_mm=70, smooth=False)
    plain = Fastener(kind="nail", diameter_mm=3.35, length_mm=70)
    assert unfit(ringed, ply(47), ply(47)) == ""
    assert "reaches 23 mm" in unfit(plain, ply(47), ply(47))


def test_a_thick_nail_splits_a_thin_piece_unless_its_hole_is_drilled():
    driven = Fastener(kind="nail", diameter_mm=5, length_mm=100)
    drilled = Fastener(kind="nail", diameter_mm=5, length_mm=100, predrilled=True)
    assert "splits a piece 22 mm thick: at least 35 mm" in unfit(driven, ply(22), ply(47))
    assert unfit(drilled, ply(22), ply(47)) == ""


def test_dense_wood_is_drilled_first():
    assert "too dense to drive a nail undrilled" in unfit(NAIL, ply(44, "D30"), ply(47))


def test_it_matters_not_which_piece_is_named_first():
    assert strength(BOLT, ply(47, "C24"), ply(60)) == pytest.approx(
        strength(BOLT, ply(60), ply(47, "C24"))
    )


def test_a_bolt_is_weaker_across_the_grain_than_along_it_and_a_nail_is_not():
    across, along = ply(47, angle=90.0), ply(47, angle=0.0)
    assert strength(BOLT, across, across) < strength(BOLT, along, along)
    assert strength(NAIL, across, across) == strength(NAIL, along, along)


def test_the_rope_effect_adds_a_quarter_of_the_pull_out_up_to_its_cap():
    pair = ply(47), ply(47)
    alone = strength(SCREW, *pair)
    assert strength(SCREW, *pair, axial_n=400.0) == pytest.approx(alone + 100.0)
    assert strength(SCREW, *pair, axial_n=1e6) == pytest.approx(2 * alone)
    assert strength(NAIL, *pair, axial_n=1e6) == pytest.approx(1.15 * strength(NAIL, *pair))
    assert strength(BOLT, *pair, axial_n=1e6) == pytest.approx(1.25 * strength(BOLT, *pair))


@pytest.mark.parametrize(
    ("nail", "cap"),
    [
        (Fastener(kind="nail", diameter_mm=3.35, length_mm=75, shank="square"), 1.25),
        (Fastener(kind="nail", diameter_mm=3.35, length_mm=75, smooth=False), 1.50),
    ],
    ids=["square", "ringed"],
)
def test_square_and_ringed_nails_have_a_higher_cap(nail, cap):
    pair = ply(47), ply(47)
    assert strength(nail, *pair, axial_n=1e6) == pytest.approx(cap * strength(nail, *pair))


def test_a_screw_of_unknown_root_is_taken_as_the_thinnest():
    known = Fastener(kind="screw", diameter_mm=6, length_mm=100, root_mm=4)
    unknown = Fastener(kind="screw", diameter_mm=6, length_mm=100)
    assert effective_diameter_mm(known, ROOT_SHARE) == pytest.approx(4.4)
    assert effective_diameter_mm(unknown, ROOT_SHARE) == pytest.approx(3.96)


def test_a_screw_over_6_mm_effective_goes_by_the_rules_for_bolts():
    thick = Fastener(kind="screw", diameter_mm=10, length_mm=120, root_mm=7)
    d = effective_diameter_mm(thick, ROOT_SHARE)
    assert d > 6
    assert embedment_n_mm2(thick, d, ply(47, angle=90)) < embedment_n_mm2(
        thick, d, ply(47, angle=0)
    )
    assert least_distances(thick, angle_deg=90, root_share=ROOT_SHARE).across_mm == 40


def test_a_bolt_through_three_pieces_carries_more_in_each_plane_than_through_two():
    pair = ply(47), ply(47)
    assert double_shear(BOLT, *pair).f_v_rk_n > strength(BOLT, *pair)
    assert set(double_shear(BOLT, *pair).modes) == set("ghjk")
    with pytest.raises(ValueError, match="bolts right through"):
        double_shear(SCREW, *pair)


@pytest.mark.parametrize(
    ("fastener", "apart", "factor"),
    [
        (NAIL, 14 * 3.35, 1.0),
        (NAIL, 10 * 3.35, 0.85),
        (NAIL, 7 * 3.35, 0.7),
        (NAIL, 12 * 3.35, 0.925),
        (NAIL, 40 * 3.35, 1.0),
    ],
)
def test_how_many_nails_in_a_row_count_along_the_grain(fastener, apart, factor):
    assert counted(fastener, 3.35, 4, apart) == pytest.approx(4**factor)


def test_drilled_nails_may_stand_nearer_and_count_for_less():
    drilled = Fastener(kind="nail", diameter_mm=4, length_mm=100, predrilled=True)
    assert counted(drilled, 4, 4, 16) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="at least 28 mm"):
        counted(COMMON["nail_4x100"], 4, 4, 20)


def test_bolts_in_a_row_count_by_their_distance_and_never_for_more_than_they_are():
    assert counted(BOLT, 12, 3, 13 * 12) == pytest.approx(3**0.9)
    assert counted(BOLT, 12, 3, 100 * 12) == 3
    assert counted(BOLT, 12, 1, 10) == 1


def test_distances_of_a_driven_nail_and_a_bolt():
    """EN 1995-1-1 tables 8.2 and 8.4, from memory: 3.35 mm nail and M12, force across the grain."""
    nail = least_distances(NAIL, angle_deg=90, root_share=ROOT_SHARE)
    assert (nail.along_mm, nail.across_mm, nail.end_mm, nail.loaded_edge_mm, nail.edge_mm) == (
        pytest.approx((5 * 3.35, 5 * 3.35, 10 * 3.35, 7 * 3.35, 5 * 3.35))
    )
    bolt = least_distances(BOLT, angle_deg=90, root_share=ROOT_SHARE)
    assert (bolt.along_mm, bolt.across_mm, bolt.end_mm, bolt.loaded_edge_mm, bolt.edge_mm) == (
        pytest.approx((48, 48, 84, 48, 36))
    )


def test_a_drilled_nail_may_stand_nearer_everywhere():
    drilled = Fastener(kind="nail", diameter_mm=3.35, length_mm=75, predrilled=True)
    for angle in (0, 90):
        near = least_distances(drilled, angle_deg=angle, root_share=ROOT_SHARE)
        far = least_distances(NAIL, angle_deg=angle, root_share=ROOT_SHARE)
        assert near.along_mm < far.along_mm
        assert near.end_mm < far.end_mm
        assert near.loaded_edge_mm < far.loaded_edge_mm


def test_where_force_may_come_either_way_the_greater_distance_is_kept():
    both = either_way(NAIL, root_share=ROOT_SHARE)
    assert (both.along_mm, both.end_mm) == pytest.approx((10 * 3.35, 15 * 3.35))
    assert both.loaded_edge_mm == pytest.approx(7 * 3.35)


def test_splitting_by_the_code_and_worse_the_nearer_the_loaded_edge():
    assert f_90_rk_n(47, 195, 135) == pytest.approx(14 * 47 * math.sqrt(135 / (1 - 135 / 195)))
    assert f_90_rk_n(47, 195, 60) < f_90_rk_n(47, 195, 135)
    with pytest.raises(ValueError, match="between the edges"):
        f_90_rk_n(47, 195, 195)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"kind": "rivet", "diameter_mm": 5}, "A fastener is one of"),
        ({"kind": "nail", "diameter_mm": 12, "length_mm": 75}, "The diameter of a nail"),
        ({"kind": "nail", "diameter_mm": 3}, "The length of a nail or screw"),
        ({"kind": "bolt", "diameter_mm": math.nan}, "The diameter of a fastener"),
        ({"kind": "bolt", "diameter_mm": 12, "f_u_n_mm2": 9000}, "The strength of its steel"),
        ({"kind": "screw", "diameter_mm": 6, "length_mm": 80, "root_mm": 7}, "The root of a screw"),
        ({"kind": "bolt", "diameter_mm": 12, "shank": "oval"}, "A shank is one of"),
    ],
)
def test_what_cannot_be_a_fastener_is_refused_with_a_sentence(fields, sentence):
    with pytest.raises(ValueError, match=sentence):
        Fastener(**fields)


def test_every_setting_has_a_sentence_and_a_range():
    fields = set(FixingSettings.__dataclass_fields__)
    assert set(SENTENCES) == fields
    assert set(RANGES) == fields - {"lap_load"}
    with pytest.raises(ValueError, match="hole_clearance_mm is 0 to 3"):
        FixingSettings(hole_clearance_mm=math.inf)
    with pytest.raises(ValueError, match="The load of a lap is one of worst, shared"):
        FixingSettings(lap_load="new")


@settings(max_examples=60, deadline=None)
@given(
    kind=st.sampled_from(sorted(COMMON)),
    first=st.floats(36, 150),
    second=st.floats(36, 150),
    grades=st.tuples(*[st.sampled_from([name for name in CLASSES if name != "D30"])] * 2),
    angle=st.floats(0, 90),
)
def test_a_joint_has_a_finite_strength_or_a_sentence_why_not(kind, first, second, grades, angle):
    head, point = (ply(t, g, angle) for t, g in zip((first, second), grades, strict=True))
    if why := unfit(COMMON[kind], head, point):
        assert why.endswith(".")
        return
    found = single_shear(COMMON[kind], head, point, root_share=ROOT_SHARE)
    assert all(math.isfinite(n) and n > 0 for n in found.modes.values())
    assert found.f_v_rk_n == min(found.modes.values())


@settings(max_examples=40, deadline=None)
@given(thick=st.floats(30, 120), more=st.floats(0, 60), d=st.sampled_from([8, 10, 12, 16]))
def test_thicker_timber_never_makes_a_bolt_weaker(thick, more, d):
    bolt = COMMON[f"bolt_m{d}"]
    thin, thicker = ply(thick), ply(thick + more)
    assert strength(bolt, thicker, thicker) >= strength(bolt, thin, thin) * (1 - 1e-12)
