"""When a piece is dry enough, said honestly."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.drying import drying_curve, expected_days, forecast, points
from apps.timber.moisture import Climate, DryingSettings
from apps.timber.outlook import Outlook
from apps.timber.pieces_as_data import PieceData, ReadingData, Stored

TODAY = date(2026, 11, 25)


def read(days_ago, pct, **more):
    at = datetime(2026, 11, 25, 19, tzinfo=UTC) - timedelta(days=days_ago)
    return ReadingData(read_at=at, measured_pct=pct, **more)


def piece(*readings, stored=Stored.DRY, breadth_mm=50):
    return PieceData(
        id=1, mark="T14", breadth_mm=breadth_mm, depth_mm=150, length_mm=2400, stored=stored,
        readings=readings,
    )  # fmt: skip


def asked(found, limit_pct=20.0, **more):
    return forecast(found, drying_curve(found, **more), limit_pct=limit_pct, today=TODAY)


def test_a_piece_that_nobody_has_read_is_not_guessed_at():
    found = asked(piece())

    assert found.outlook == Outlook.NO_READING
    assert found.sentence == "T14 has no moisture reading: read it before it is used."


def test_a_piece_under_the_limit_is_dry_already():
    found = asked(piece(read(2, 17)))

    assert (found.outlook, found.dry_on) == (Outlook.DRY, TODAY)
    assert found.sentence == "T14 was 17 % on 23 Nov 2026: it is dry enough for 20 %."


def test_a_piece_read_at_exactly_the_limit_is_dry_wherever_it_is_stored():
    limit_pct = 13.442839206956203

    answers = [asked(piece(read(0, limit_pct), stored=stored), limit_pct) for stored in Stored]

    assert {answer.outlook for answer in answers} == {Outlook.DRY}


def test_one_reading_goes_by_the_thickness_and_asks_for_another():
    found = asked(piece(read(0, 25)))

    assert found.outlook == Outlook.DATE
    assert found.curve.days == pytest.approx(expected_days(piece()))
    assert TODAY < found.early_on < found.dry_on < found.late_on
    assert "going by its thickness alone: read it again" in found.sentence


def test_a_thicker_piece_is_expected_to_take_longer_by_more_than_its_thickness():
    thin, thick = expected_days(piece(breadth_mm=25)), expected_days(piece(breadth_mm=50))

    assert 2 * thin < thick < 4 * thin


def test_more_readings_make_the_band_narrower():
    guessed = asked(piece(read(0, 23)))
    followed = asked(
        piece(read(28, 28), read(21, 26.6), read(14, 25.3), read(7, 24.1), read(0, 23))
    )

    assert followed.curve.readings == 5
    assert followed.late_on - followed.early_on < guessed.late_on - guessed.early_on


def test_where_it_is_stored_it_may_never_get_below_the_limit():
    found = asked(piece(read(1, 26), stored=Stored.OUTSIDE))

    assert (found.outlook, found.dry_on) == (Outlook.NEVER, None)
    assert found.sentence == (
        "T14 was 26 % on 24 Nov 2026: it will not get below 20 % by itself here: "
        "the equilibrium outside is 20.9 %."
    )


def test_a_piece_dry_when_last_read_does_not_stay_so_outside():
    found = asked(piece(read(300, 18), stored=Stored.OUTSIDE))

    assert found.outlook == Outlook.NEVER
    assert "does not stay below 20 % here" in found.sentence


def test_a_limit_a_hair_above_where_it_settles_is_never_in_practice():
    damp = Climate(10, 88.3, "in the void")

    found = asked(piece(read(1, 28), breadth_mm=150), climate=damp)

    assert found.outlook == Outlook.NEVER
    assert "would take more than 730 days" in found.sentence


def test_a_reading_that_rises_starts_the_forecast_again():
    steady = piece(read(20, 24), read(10, 22))
    wetted = piece(read(20, 24), read(10, 22), read(1, 27))

    found = asked(wetted)

    assert found.curve.wetted_on == date(2026, 11, 24)
    assert found.curve.readings == 1
    assert "found wetter on 24 Nov 2026 and is counted from there" in found.sentence
    assert asked(steady).curve.wetted_on is None


def test_a_rise_towards_where_it_settles_is_no_rewetting():
    found = asked(piece(read(20, 9), read(10, 12), stored=Stored.COVERED))

    assert found.curve.wetted_on is None
    assert found.outlook == Outlook.DRY


def test_a_reading_over_thirty_is_not_fitted():
    found = asked(piece(read(30, 45), read(20, 36), read(10, 28), read(0, 25.5)))

    assert found.curve.readings == 2
    assert found.outlook == Outlook.DATE


def test_a_sodden_piece_gets_no_date_but_a_day_it_cannot_be_before():
    found = asked(piece(read(0, 42), stored=Stored.COVERED))

    assert (found.outlook, found.dry_on) == (Outlook.TOO_WET, None)
    assert found.early_on > TODAY
    assert "too wet to say" in found.sentence


def test_a_day_that_has_passed_asks_for_a_reading():
    found = asked(piece(read(200, 24)))

    assert found.dry_on == TODAY
    assert found.sentence.endswith("should be below 20 % by now; read it again.")


def test_the_wettest_place_of_a_day_counts():
    assert asked(piece(read(0, 17, at_mm=100), read(0, 24, at_mm=1200))).curve.latest_pct == 24


def test_two_readings_a_day_apart_do_not_decide_alone():
    hasty = asked(piece(read(1, 24), read(0, 24)))

    assert hasty.outlook == Outlook.DATE
    assert hasty.curve.days < 2 * expected_days(piece())


def test_the_same_question_is_answered_the_same():
    found = piece(read(14, 27), read(7, 25), read(0, 24))

    assert asked(found) == asked(found)


def test_the_chart_begins_at_the_first_reading_and_keeps_within_its_band():
    curve = drying_curve(piece(read(14, 27), read(7, 25.4), read(0, 24)))

    drawn = points(curve, TODAY + timedelta(days=60))

    assert (drawn[0].on, drawn[-1].on) == (date(2026, 11, 11), TODAY + timedelta(days=60))
    assert all(point.low_pct <= point.likely_pct <= point.high_pct for point in drawn)
    assert all(after.likely_pct < before.likely_pct for before, after in pairwise(drawn))


READINGS = st.lists(
    st.builds(read, st.integers(0, 120), st.floats(4, 90)), min_size=1, max_size=5
).map(tuple)
CLIMATES = st.builds(Climate, st.floats(-1, 35), st.floats(5, 95), st.just("here"))


@settings(max_examples=60, deadline=None)
@given(READINGS, CLIMATES, st.floats(8, 25), st.sampled_from(Stored), st.integers(10, 200))
def test_no_forecast_is_without_figures_or_out_of_order(
    readings, climate, limit_pct, stored, breadth_mm
):
    found = piece(*readings, stored=stored, breadth_mm=breadth_mm)
    curve = drying_curve(found, climate=climate)
    answer = forecast(found, curve, limit_pct=limit_pct, today=TODAY)

    assert isfinite(curve.begin_pct)
    assert isfinite(curve.days)
    assert (answer.dry_on is not None) == (answer.outlook in {Outlook.DRY, Outlook.DATE})
    if answer.outlook == Outlook.DATE:
        assert TODAY <= answer.early_on <= answer.dry_on
        assert answer.late_on is None or answer.dry_on <= answer.late_on
    for point in points(curve, TODAY + timedelta(days=30), steps=5):
        assert 0 <= point.low_pct <= point.likely_pct <= point.high_pct < 100


def rank(answer):
    """Later is more; never is latest."""
    return answer.dry_on or date.max


@settings(max_examples=60, deadline=None)
@given(st.floats(5, 30), st.floats(0, 10), st.floats(9, 24), st.sampled_from(Stored))
def test_a_wetter_piece_is_dry_no_sooner(pct, wetter_by, limit_pct, stored):
    drier = asked(piece(read(0, pct), stored=stored), limit_pct)
    wetter = asked(piece(read(0, pct + wetter_by), stored=stored), limit_pct)

    assert rank(wetter) >= rank(drier)


@settings(max_examples=60, deadline=None)
@given(st.floats(8, 30), st.floats(20, 80), st.floats(0, 15), st.floats(9, 24))
def test_in_damper_air_a_piece_is_dry_no_sooner(pct, humidity_pct, damper_by, limit_pct):
    dry, damp = (
        asked(piece(read(0, pct)), limit_pct, climate=Climate(15, humidity, "here"))
        for humidity in (humidity_pct, humidity_pct + damper_by)
    )

    assert rank(damp) >= rank(dry)


@settings(max_examples=40, deadline=None)
@given(st.floats(22, 29), st.floats(0.5, 4), st.floats(0, 2))
def test_a_second_reading_that_has_fallen_less_is_dry_no_sooner(first, fallen, less):
    quick = asked(piece(read(14, first), read(0, first - fallen)))
    slow = asked(piece(read(14, first), read(0, min(first, first - fallen + less))))

    assert rank(slow) >= rank(quick)


def test_settings_are_the_callers():
    colder = DryingSettings(climates={Stored.DRY: Climate(5, 95, "in a wet cellar")})

    assert asked(piece(read(0, 26)), settings=colder).outlook == Outlook.NEVER
