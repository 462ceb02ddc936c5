"""Moisture of wood against published tables, worked answers and a general humidity library.

Sources:
- `data/wood_moisture.csv`: a published chart of equilibrium moisture content (wood merchants' page
  "EMC chart"; the cells are those of Wood Handbook table 4-2 as remembered): second hand. One cell,
  110 °F and 20 %, is misprinted there as 3.0; its row says so.
- 70 °F and 40 %: 7.7, a copy of a university's kiln manual, second hand.
- 65 °F and 60 % or 30 %: 11.1 and 6.2, a forester's worked answers, second hand.
- PsychroLib, a general library of the ASHRAE Handbook's humidity equations.
- The timelag model M(t) = E + (M0 − E) exp(−t / tau), in which one time constant closes 63 % of the
  gap: Fosberg and Deeming 1971 for the idea, second hand for the figure.
- Worked drying case: 34 % falls to 28 % in 14 days where it settles at 15 %: tau is 36.9 days, by
  hand.
- Meter: half a point for each 5 °C below 20 °C: an instrument's leaflet, second hand.
"""

import csv
from datetime import UTC, date, datetime, timedelta
from math import exp, log
from pathlib import Path

import numpy as np
import psychrolib
import pytest

from apps.timber.drying import drying_curve, forecast, points
from apps.timber.drying_fit import fit
from apps.timber.moisture import Climate, DryingSettings, corrected_pct, equilibrium_pct
from apps.timber.pieces_as_data import PieceData, ReadingData

CHART = Path(__file__).parent / "data" / "wood_moisture.csv"
SEA_LEVEL_PA = 101_325
# What the thickness suggests weighs nothing, so that the readings alone decide.
READINGS_ALONE = DryingSettings(spread=1e12)


def chart():
    with CHART.open(encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


def celsius(fahrenheit):
    return (fahrenheit - 32) * 5 / 9


def said_and_computed(row):
    found = equilibrium_pct(celsius(float(row["temperature_f"])), float(row["humidity_pct"]))
    return float(row["moisture_pct"]), found


def test_the_equation_gives_every_cell_of_the_chart_but_the_misprint():
    rows = [row for row in chart() if row["note"] != "misprint"]

    assert len(rows) == 192
    for row in rows:
        said, computed = said_and_computed(row)
        assert computed == pytest.approx(said, abs=0.06), row


def test_the_misprint_is_a_whole_point_from_the_equation_and_out_of_line_with_its_neighbours():
    (row,) = (row for row in chart() if row["note"] == "misprint")
    said, computed = said_and_computed(row)

    assert said == 3.0
    assert computed == pytest.approx(4.05, abs=0.01)


@pytest.mark.parametrize(
    ("fahrenheit", "humidity_pct", "moisture_pct"),
    [(70, 40, 7.7), (65, 60, 11.1), (65, 30, 6.2), (140, 55, 8.4)],
)
def test_answers_worked_by_others_come_out(fahrenheit, humidity_pct, moisture_pct):
    found = equilibrium_pct(celsius(fahrenheit), humidity_pct)

    assert found == pytest.approx(moisture_pct, abs=0.06)


def test_outside_air_warmed_to_a_room_dries_wood_to_a_third_of_what_it_was_in_balance_with():
    """5 °C and 85 % outside is 31.7 % at 20 °C; wood settles at 18.5 % outside, at 6.5 % inside."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    water = psychrolib.GetHumRatioFromRelHum(5, 0.85, SEA_LEVEL_PA)
    inside_pct = 100 * psychrolib.GetRelHumFromHumRatio(20, water, SEA_LEVEL_PA)

    assert inside_pct == pytest.approx(31.7, abs=0.05)
    assert equilibrium_pct(5, 85) == pytest.approx(18.5, abs=0.05)
    assert equilibrium_pct(20, inside_pct) == pytest.approx(6.5, abs=0.05)


def test_wood_stays_over_a_fifth_water_only_in_air_damper_than_88_per_cent():
    assert equilibrium_pct(10, 88.4) == pytest.approx(20.0, abs=0.05)


def test_the_worked_drying_case_comes_out_of_the_fit():
    begin, days = fit(np.array([0.0, 14.0]), np.array([34.0, 28.0]), 15.0, 36.0, READINGS_ALONE)

    assert begin == pytest.approx(34.0, abs=0.01)
    assert days == pytest.approx(36.9, abs=0.05)
    assert days * log((34 - 15) / (20 - 15)) == pytest.approx(49.25, abs=0.1)


def piece_that_follows(days, *, settles, begins_pct=28.0, every=7, readings=6):
    """A piece whose readings lie on a curve exactly."""
    start = datetime(2026, 9, 1, 12, tzinfo=UTC)
    return PieceData(
        id=1, mark="T1", breadth_mm=50, depth_mm=150, length_mm=2400,
        readings=tuple(
            ReadingData(
                read_at=start + timedelta(days=every * turn),
                measured_pct=settles + (begins_pct - settles) * exp(-every * turn / days),
            )
            for turn in range(readings)
        ),
    )  # fmt: skip


@pytest.mark.parametrize("days", [12, 37, 110])
def test_a_piece_that_follows_the_timelag_model_is_recognised(days):
    room = Climate(20, 50, "in the room")
    piece = piece_that_follows(days, settles=equilibrium_pct(20, 50))

    curve = drying_curve(piece, READINGS_ALONE, room)

    assert curve.days == pytest.approx(days, rel=0.01)
    on_curve = points(curve, curve.begins.date() + timedelta(days=days), steps=1)[-1]
    done = (curve.begin_pct - on_curve.likely_pct) / (curve.begin_pct - curve.settles_pct)
    assert done == pytest.approx(0.632, abs=0.001)


def test_the_day_it_is_dry_is_the_day_the_model_says():
    settles = equilibrium_pct(20, 50)
    piece = piece_that_follows(60, settles=settles, readings=3)
    curve = drying_curve(piece, READINGS_ALONE, Climate(20, 50, "in the room"))

    found = forecast(piece, curve, limit_pct=14, today=date(2026, 9, 20))

    by_hand = 60 * log((28 - settles) / (14 - settles))
    assert abs((found.dry_on - date(2026, 9, 1)).days - by_hand) <= 1.5


@pytest.mark.parametrize(("wood_c", "adds"), [(20, 0), (15, 0.5), (10, 1.0), (25, -0.5)])
def test_a_meter_reading_is_put_right_by_half_a_point_for_five_degrees(wood_c, adds):
    reading = ReadingData(
        read_at=datetime(2026, 11, 1, tzinfo=UTC), measured_pct=18, wood_temperature_c=wood_c
    )

    assert corrected_pct(reading) == pytest.approx(18 + adds)
    assert reading.measured_pct == 18
