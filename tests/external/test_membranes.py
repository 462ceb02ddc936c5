"""Gauge and micron of sheet under a floor, and its laps.

Sources:
- 1200 gauge is 300 micron, and 1200 gauge is asked for since 1992 (1000 before): Approved
  Document C 1992, read in a copy.
- 1000 gauge is 250 micron: suppliers' pages, second hand.
- 500 gauge is 125 micron: common practice, no source (the same quarter of a micron a gauge).
- Laps of 150 mm taped; a double welted fold takes 300 mm of each sheet: a builders' metalwork
  data page, second hand.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.checks.membranes import MembraneSettings, Roll, cover, gauge, micron

FOUR_BY_TWENTY_FIVE = Roll(width_mm=4000, length_mm=25_000)


@pytest.mark.parametrize(("sheet", "thick"), [(1200, 300), (1000, 250), (500, 125)])
def test_gauge_is_a_quarter_of_a_micron(sheet, thick):
    assert micron(sheet) == thick
    assert gauge(thick) == sheet


@given(st.floats(1e-3, 1e5))
def test_gauge_and_micron_round_trip(sheet):
    assert gauge(micron(sheet)) == pytest.approx(sheet)


def test_a_sheet_thinner_than_1200_gauge_is_told():
    thin = cover(8000, 6000, FOUR_BY_TWENTY_FIVE, gauge_of_sheet=1000)
    good = cover(8000, 6000, FOUR_BY_TWENTY_FIVE, gauge_of_sheet=1200)

    assert [note.code for note in thin.warnings] == ["sheet-thin"]
    assert "250 micron" in thin.warnings[0].sentence
    assert good.warnings == ()


# By hand: n strips of 4 m with 150 mm laps cover 4000 n − 150 (n − 1) mm.
@pytest.mark.parametrize(
    ("across_mm", "strips"), [(4000, 1), (4001, 2), (7850, 2), (7851, 3), (11_700, 3)]
)
def test_strips_lap_by_150_mm(across_mm, strips):
    laid = cover(20_000, across_mm, FOUR_BY_TWENTY_FIVE, settings=MembraneSettings(end_laps=False))

    along = laid.best if laid.best.runs_along == "length" else laid.other
    assert along is not None
    assert along.strips == strips
    assert along.tape_mm == (strips - 1) * 20_000


def test_a_welted_fold_takes_300_mm():
    laid = cover(20_000, 7700, FOUR_BY_TWENTY_FIVE, settings=MembraneSettings(joint="welted_fold"))

    assert laid.lap_mm == 300
    assert laid.best.strips == 2


def test_a_house_of_eight_by_six_takes_one_roll():
    # Two strips of 8 m (4000 + 3850 ≥ 6000) are 16 m of a 25 m roll.
    laid = cover(8000, 6000, FOUR_BY_TWENTY_FIVE)

    assert (laid.best.rolls, laid.best.strips, laid.best.end_laps) == (1, 2, 0)
    assert laid.sentence.startswith("1 roll: 2 strips of ")


def test_an_end_lap_costs_its_150_mm():
    # A strip of 30 m from rolls of 25 m: 25 000 + 5150 with the lap, so one more roll is begun.
    laid = cover(30_000, 3000, FOUR_BY_TWENTY_FIVE)
    along = laid.best if laid.best.runs_along == "length" else laid.other

    assert along is not None
    assert (along.strips, along.end_laps, along.rolls) == (1, 1, 2)


@given(
    length=st.integers(500, 30_000),
    width=st.integers(500, 30_000),
    roll=st.builds(Roll, width_mm=st.integers(700, 6000), length_mm=st.integers(5000, 50_000)),
    upstand=st.integers(0, 300),
)
def test_the_rolls_always_cover_the_ground(length, width, roll, upstand):
    laid = cover(length, width, roll, upstand_mm=upstand)

    for way in filter(None, (laid.best, laid.other)):
        across = (width if way.runs_along == "length" else length) + 2 * upstand
        assert way.strips * roll.width_mm - (way.strips - 1) * 150 >= across
        used = way.strips * way.strip_mm + way.end_laps * 150
        assert way.rolls * roll.length_mm >= used
    assert laid.other is None or laid.best.rolls <= laid.other.rolls


def test_more_ground_never_takes_fewer_rolls_of_one_strip():
    rolls = [
        cover(length, 3900, FOUR_BY_TWENTY_FIVE).best.rolls for length in range(1000, 90_000, 997)
    ]

    assert rolls == sorted(rolls)


@pytest.mark.parametrize(
    ("length", "roll", "words"),
    [
        (0, FOUR_BY_TWENTY_FIVE, "1 mm to 200 m"),
        (5000, Roll(width_mm=300, length_mm=25_000), "wider"),
        (5000, Roll(width_mm=4000, length_mm=200), "longer"),
    ],
)
def test_a_roll_that_is_used_up_by_its_laps_is_refused(length, roll, words):
    with pytest.raises(ValueError, match=words):
        cover(length, 4000, roll)


def test_a_strip_longer_than_the_roll_is_refused_without_end_laps():
    settings = MembraneSettings(end_laps=False)

    with pytest.raises(ValueError, match="shorter than a strip"):
        cover(30_000, 30_000, FOUR_BY_TWENTY_FIVE, settings=settings)
