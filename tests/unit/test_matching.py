"""Will this piece do for that need, and if not, why not."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.joist import Cut, JoistInput
from apps.checks.results import against, outcome
from apps.timber.drying import drying_curve, forecast
from apps.timber.matching import Matcher
from apps.timber.pieces_as_data import (
    DefectData,
    DefectKind,
    GradeBasis,
    NeedData,
    PieceData,
    PieceState,
    ReadingData,
    Role,
    Severity,
    Stored,
)
from apps.timber.real_section import joist_check
from apps.timber.roles import ROLES
from apps.timber.sections import packing, section_for
from apps.timber.verdicts import ORDER, REFUSALS, Verdict

TODAY = date(2026, 11, 25)


def need(**more):
    return NeedData(
        **{
            "id": 1, "role": Role.NOGGIN, "title": "Noggins J4 to J5", "quantity": 1,
            "length_mm": 350, "breadth_mm": 47, "depth_mm": 145, "moisture_limit_pct": None,
            **more,
        }
    )  # fmt: skip


def joist(**more):
    return need(
        **{"role": Role.JOIST, "title": "J5", "length_mm": 2100, "strength_class": "C16", **more}
    )


def piece(*defects, **more):
    return PieceData(
        **{
            "id": 14, "mark": "T14", "breadth_mm": 47, "depth_mm": 145, "length_mm": 2400,
            "strength_class": "C16", "grade_basis": GradeBasis.STAMPED, "defects": defects,
            **more,
        }
    )  # fmt: skip


def forecast_of(found, limit_pct):
    return forecast(found, drying_curve(found), limit_pct=limit_pct, today=TODAY)


def matched(wanted, found, check=None):
    return Matcher(today=TODAY, forecast_of=forecast_of).match(wanted, found, check)


def read(days_ago, pct):
    at = datetime(2026, 11, 25, 19, tzinfo=UTC) - timedelta(days=days_ago)
    return (ReadingData(read_at=at, measured_pct=pct),)


def check_that(passes):
    """A joist check that answers the same of every section."""

    def check(section, counts_as, basis):
        demand = 0.8 if passes else 1.2
        row = against("bending", "Bending", demand=demand, capacity=1, unit="N/mm²", clause="6.1.6")
        return outcome("The joist", (row,))

    return check


def codes(match):
    return [reason.code for reason in match.reasons]


def test_a_sound_piece_of_the_size_fits_and_says_by_how_much():
    found = matched(need(), piece())

    assert (found.verdict, found.fits) == (Verdict.FITS, True)
    assert found.sentence == "T14 fits: 2200 mm sound between the ends, 350 mm wanted."
    assert found.figures["run_mm"] == 2200


def test_a_sound_length_too_short_says_what_it_lies_between():
    found = matched(
        need(length_mm=2100),
        piece(
            DefectData(kind="decay", from_mm=0, to_mm=10, severity="slight"),
            DefectData(kind="split", from_mm=2150, to_mm=2400, severity="severe"),
        ),
    )

    assert (found.verdict, found.fits) == (Verdict.TOO_SHORT, False)
    assert found.sentence == ("T14 has a sound length of 1840 of 2100 mm, between decay and split.")


def test_a_piece_that_only_decay_makes_too_short_is_called_decayed():
    found = matched(need(length_mm=2100), piece(DefectData(kind="decay", from_mm=0, to_mm=60)))

    assert found.verdict == Verdict.DECAY
    assert "its sound length is 1940 of 2100 mm, between decay and the end" in found.sentence
    assert found.figures["why"] == ["Decayed wood is cut out, whatever the piece is wanted for."]


def test_nails_that_stand_in_the_way_say_what_drawing_them_would_give():
    found = matched(need(length_mm=2000), piece(DefectData(kind="nails", from_mm=900, to_mm=900)))

    assert found.verdict == Verdict.TOO_SHORT
    assert "with the nails drawn it is 2200 mm" in found.sentence


def test_a_piece_too_broad_is_ripped_and_may_lose_its_grade():
    lost = matched(need(), piece(breadth_mm=97, strength_class="C24"))
    kept = matched(need(role=Role.OTHER), piece(depth_mm=150, breadth_mm=50))

    assert lost.verdict == Verdict.FITS_RIPPED
    assert lost.sentence == (
        "T14 fits if ripped from 97 × 145 to 47 × 145 mm, which loses its grade C24."
    )
    assert kept.verdict == Verdict.FITS


def test_taking_off_ten_millimetres_of_a_large_size_keeps_the_grade():
    little, much = (
        matched(joist(strength_class="C24"), piece(depth_mm=depth, strength_class="C24"))
        for depth in (155, 156)
    )

    assert (little.verdict, little.use.section.rip.keeps_grade) == (Verdict.FITS_RIPPED, True)
    assert (much.verdict, much.use.section.rip.keeps_grade) == (Verdict.NOT_GRADED, False)
    assert much.sentence == (
        "T14 is not graded any more once ripped: it counts as C16, and C24 is wanted; "
        "it is to be ripped from 47 × 156 to 47 × 145 mm, which loses its grade C24."
    )


def test_a_batten_too_thin_is_packed_up_from_packers_on_hand():
    wanted = need(role=Role.BATTEN, breadth_mm=50, depth_mm=38)

    found = matched(wanted, piece(breadth_mm=25, depth_mm=50))

    assert found.verdict == Verdict.FITS_PACKED
    assert found.sentence == "T14 fits if packed up by 13 mm (11 + 2 mm)."


def test_a_plate_is_a_joist_turned_on_its_side():
    wanted = need(role=Role.PLATE, breadth_mm=145, depth_mm=47)

    found = matched(wanted, piece())

    assert (found.verdict, found.use.section.turned) == (Verdict.FITS, True)


def test_a_joist_too_shallow_is_packed_up_and_checked_at_its_real_section():
    found = matched(joist(depth_mm=150), piece(), check_that(passes=True))

    assert codes(found) == [Verdict.FITS_BY_CHECK, Verdict.FITS_PACKED]
    assert found.use.check.passes
    assert found.use.section.packers_mm == (5,)
    assert found.sentence == (
        "T14 fits by the joist check at its real section, 47 × 145 mm for 47 × 150 mm "
        "(a deviation goes with it); it is to be packed up by 5 mm (5 mm)."
    )
    assert found.deviation.specified == "J5: 47 × 150 mm C16"
    assert found.deviation.built == "T14: 47 × 145 mm"


@pytest.mark.parametrize(
    ("span_mm", "verdict"), [(1500, Verdict.FITS_BY_CHECK), (3600, Verdict.CHECK_FAILS)]
)
def test_the_joist_check_is_asked_of_the_piece_and_not_of_the_joist_it_replaces(span_mm, verdict):
    place = JoistInput(
        span_mm=span_mm, breadth_mm=47, depth_mm=150, spacing_mm=400, strength_class="C24",
        dead_kn_m2=0.5, decayed=((0, 400),),
        cuts=(Cut(at_mm=9, size_mm=9, depth_mm=140, kind="notch"),),
    )  # fmt: skip

    found = matched(joist(depth_mm=150), piece(), joist_check(place))

    assert found.verdict == verdict
    assert found.use.check.checks
    assert found.use.check.passes == found.fits


def test_a_joist_that_fails_its_check_does_not_fit_and_says_so():
    found = matched(joist(depth_mm=150), piece(), check_that(passes=False))

    assert (found.verdict, found.fits) == (Verdict.CHECK_FAILS, False)
    assert "does not pass the joist check at its real section, 47 × 145 mm" in found.sentence
    assert found.deviation is None


def test_without_a_check_to_ask_a_joist_too_small_is_too_small():
    found = matched(joist(depth_mm=150), piece())

    assert found.verdict == Verdict.TOO_SMALL
    assert "5 mm short in depth, and there is no joist check to ask" in found.sentence


def test_a_joist_further_short_than_packers_make_up_is_too_small_whatever_the_check_says():
    found = matched(joist(depth_mm=195), piece(), check_that(passes=True))

    assert found.verdict == Verdict.TOO_SMALL
    assert "50 mm short in depth, more than packers on hand make up" in found.sentence


def test_slight_cuts_left_in_a_joist_are_not_in_the_check_and_it_says_so():
    notched = piece(DefectData(kind="notch", from_mm=800, to_mm=850, severity="slight"))

    found = matched(joist(depth_mm=150), notched, check_that(passes=True))

    assert found.fits
    assert Verdict.UNMEASURED in codes(found)
    assert "slight notches or holes that the joist check does not know of" in found.sentence


def test_a_noggin_is_not_checked_as_a_joist():
    found = matched(need(depth_mm=195), piece(), check_that(passes=True))

    assert (found.verdict, found.use.check) == (Verdict.TOO_SMALL, None)


def test_a_graded_piece_of_too_low_a_class_is_the_wrong_class():
    found = matched(joist(strength_class="C24"), piece())

    assert found.verdict == Verdict.WRONG_CLASS
    assert found.sentence == "T14 is C16 where C24 is wanted."


def test_an_undocumented_piece_counts_as_c16_at_most_whatever_is_assumed():
    hopeful = piece(strength_class="C24", grade_basis=GradeBasis.ASSUMED)

    refused, allowed = matched(joist(strength_class="C24"), hopeful), matched(joist(), hopeful)

    assert refused.verdict == Verdict.NOT_GRADED
    assert refused.sentence == "T14 is not graded: it counts as C16, and C24 is wanted."
    assert allowed.fits
    assert allowed.use.counts_as == "C16"
    assert "structural use needs a deviation" in allowed.sentence
    assert allowed.deviation.built == "T14: 47 × 145 mm C16, not graded"


def test_a_noggin_needs_no_grade_and_no_deviation():
    found = matched(need(), piece(strength_class="", grade_basis=GradeBasis.ASSUMED))

    assert (found.verdict, found.deviation) == (Verdict.FITS, None)


def test_treated_timber_is_asked_for_by_the_need():
    assert matched(need(treated=True), piece()).verdict == Verdict.NOT_TREATED
    assert matched(need(treated=True), piece(treated=True)).fits
    assert matched(need(), piece(treated=True)).fits


def test_a_wet_piece_says_until_when():
    found = matched(need(moisture_limit_pct=20), piece(readings=read(0, 25)))

    assert (found.verdict, found.wet_until) == (Verdict.TOO_WET, date(2026, 12, 14))
    assert found.sentence == (
        "T14 is too wet until 14 Dec 2026 (25 % on 25 Nov 2026, 20 % wanted)."
    )


def test_a_wet_piece_that_dries_in_time_fits():
    wanted = need(moisture_limit_pct=20, needed_by=date(2026, 12, 20))

    found = matched(wanted, piece(readings=read(0, 25)))

    assert codes(found) == [Verdict.FITS, Verdict.DRY_IN_TIME]
    assert "below 20 % by 14 Dec 2026, wanted on 20 Dec 2026" in found.sentence


def test_a_piece_that_never_dries_where_it_is_says_what_it_settles_at():
    outside = piece(readings=read(0, 25), stored=Stored.OUTSIDE)

    found = matched(need(moisture_limit_pct=20), outside)

    assert found.verdict == Verdict.NEVER_DRY
    assert found.sentence == (
        "T14 will not get below 20 % by itself where it is stored: the equilibrium there is 20.9 %."
    )


def test_a_sodden_piece_is_too_wet_to_say():
    assert matched(need(moisture_limit_pct=20), piece(readings=read(0, 45))).verdict == (
        Verdict.TOO_WET_TO_SAY
    )


@pytest.mark.parametrize(
    ("readings", "said"), [((), Verdict.NO_READING), (read(300, 24), Verdict.READ_AGAIN)]
)
def test_a_piece_that_was_not_read_lately_fits_but_is_to_be_read(readings, said):
    found = matched(need(moisture_limit_pct=20), piece(readings=readings))

    assert found.fits
    assert codes(found) == [Verdict.FITS, said]


def test_a_need_without_a_limit_asks_nothing_of_moisture():
    assert codes(matched(need(), piece(readings=read(0, 60)))) == [Verdict.FITS]


@pytest.mark.parametrize("state", [one for one in PieceState if one != PieceState.IN_STOCK])
def test_a_piece_that_is_spoken_for_or_gone_is_taken(state):
    found = matched(need(), piece(state=state))

    assert found.verdict == Verdict.TAKEN
    assert found.sentence == f"T14 is {state} already."


def test_all_reasons_are_told_and_the_governing_one_leads():
    hopeless = piece(
        DefectData(kind="decay", from_mm=0, to_mm=2400),
        state=PieceState.RESERVED, breadth_mm=97, readings=read(0, 25),
        grade_basis=GradeBasis.ASSUMED,
    )  # fmt: skip

    found = matched(joist(strength_class="C24", treated=True, moisture_limit_pct=20), hopeless)

    assert codes(found) == [
        Verdict.TAKEN, Verdict.DECAY, Verdict.NOT_GRADED, Verdict.NOT_TREATED, Verdict.TOO_WET,
        Verdict.FITS_RIPPED,
    ]  # fmt: skip
    assert found.sentence.startswith("T14 is reserved already; it is decayed")
    assert "it is to be ripped" in found.sentence


@pytest.mark.parametrize(
    ("gap_mm", "packers"),
    [(2, (2,)), (4, (2, 2)), (13, (11, 2)), (22, (11, 11)), (25, (18, 5, 2)), (26, ()), (1, ())],
)
def test_packers_fill_a_gap_within_a_millimetre_from_the_fewest(gap_mm, packers):
    assert packing(gap_mm) == packers


def test_every_role_has_its_rule():
    assert set(ROLES) == set(Role)


DEFECTS = st.lists(
    st.builds(
        lambda kind, ends, severity: DefectData(
            kind=kind, from_mm=min(ends), to_mm=max(ends), severity=severity
        ),
        st.sampled_from(DefectKind),
        st.tuples(st.integers(0, 2400), st.integers(0, 2400)),
        st.sampled_from(Severity),
    ),
    max_size=3,
).map(tuple)
PIECES = st.builds(
    lambda defects, breadth, depth, grade, state, pct: piece(
        *defects, breadth_mm=breadth, depth_mm=depth, strength_class=grade[0],
        grade_basis=grade[1], state=state, readings=read(3, pct) if pct else (),
    ),
    DEFECTS,
    st.sampled_from([22, 40, 47, 50, 75]),
    st.sampled_from([75, 97, 140, 145, 150, 220]),
    st.tuples(st.sampled_from(["", "C14", "C16", "C24", "D30"]), st.sampled_from(GradeBasis)),
    st.sampled_from(PieceState),
    st.sampled_from([None, 12, 22, 28, 40]),
)  # fmt: skip
NEEDS = st.builds(
    lambda role, length, depth, name, limit, by, treated: need(
        role=role, length_mm=length, depth_mm=depth, strength_class=name, needed_by=by,
        moisture_limit_pct=limit, treated=treated,
    ),
    st.sampled_from(Role),
    st.sampled_from([60, 350, 1200, 2300]),
    st.sampled_from([97, 145, 150]),
    st.sampled_from(["", "C16", "C24"]),
    st.sampled_from([None, 12.0, 20.0]),
    st.sampled_from([None, date(2026, 12, 31)]),
    st.booleans(),
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(NEEDS, PIECES, st.sampled_from([None, check_that(passes=True), check_that(passes=False)]))
def test_every_pair_has_a_verdict_a_sentence_and_reasons_in_order(wanted, found, check):
    match = matched(wanted, found, check)

    order = [ORDER[code] for code in codes(match)]
    assert order == sorted(order)
    assert match.fits == (not REFUSALS & set(codes(match)))
    assert match.sentence.startswith("T14 ")
    assert match.sentence.endswith(".")
    if match.fits:
        assert match.run.length_mm >= wanted.length_mm
        assert found.state == PieceState.IN_STOCK


@settings(max_examples=60, deadline=None)
@given(NEEDS, PIECES)
def test_a_section_is_never_made_larger_and_never_left_too_large(wanted, found):
    section = section_for(wanted, found)

    rule = ROLES[wanted.role]
    sizes = (found.breadth_mm, found.depth_mm)
    breadth, depth = reversed(sizes) if section.turned else sizes
    assert section.breadth_mm <= min(breadth, wanted.breadth_mm + rule.breadth[1])
    assert section.depth_mm <= min(depth, wanted.depth_mm + rule.depth[1])
    assert section.pack_mm <= section.short_depth_mm


@settings(max_examples=30, deadline=None)
@given(st.lists(NEEDS, min_size=1, max_size=4), st.lists(PIECES, min_size=1, max_size=4))
def test_asking_all_at_once_says_the_same_as_asking_one_by_one(wanted, found):
    needs = [replace(one, id=place) for place, one in enumerate(wanted)]
    pieces = [replace(one, id=place) for place, one in enumerate(found)]
    checks = {place: check_that(passes=True) for place in range(0, len(needs), 2)}

    together = Matcher(today=TODAY, forecast_of=forecast_of).match_all(needs, pieces, checks)

    for one in needs:
        for other in pieces:
            alone = matched(one, other, checks.get(one.id))
            assert together[one.id][other.id].sentence == alone.sentence
            assert together[one.id][other.id].fits == alone.fits
