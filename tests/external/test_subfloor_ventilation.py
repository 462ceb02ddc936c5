"""Air under suspended timber ground floors, against worked houses.

Sources:
- 1500 mm² for each metre run of wall, openings on two opposite walls, 150 mm below the joists:
  Approved Document C (England) section 4, 1992 edition, read in a copy.
- 500 mm² for each square metre of floor, whichever is more: Approved Document C 2004 paragraph
  4.14, second hand (a supplier's page).
- 75 mm under the wall plate and 75 mm above the ground outside: second hand (surveyors' pages).
- Pipes of 100 mm bore through solid floors: Approved Document C, from memory.
- The two houses are worked out by hand from these, with both walls added: 8 × 6 m is 24 000 mm²
  either way; 10 × 9 m is 30 000 mm² by the run and 45 000 mm² by the area. At 6 m between the
  vented walls the two rules are equal.
"""

import math

import pytest

from apps.checks.ventilation import void_air
from apps.checks.ventilation_settings import KINDS, VentilationSettings
from apps.checks.ventilation_void import Opening, Void, walls_of


def house(length_m, width_m, **fields):
    long, wide = round(length_m * 1000), round(width_m * 1000)
    outline = ((0, 0), (long, 0), (long, wide), (0, wide), (0, 0))
    return Void(outline=outline, walls=walls_of(outline), **fields)


def in_both_long_walls(length_m, width_m, free_area_mm2):
    long, wide = round(length_m * 1000), round(width_m * 1000)
    return house(
        length_m,
        width_m,
        clear_mm=200,
        openings=(
            Opening(id=1, at=(long // 2, 0), free_area_mm2=free_area_mm2),
            Opening(id=2, at=(long // 2, wide), free_area_mm2=free_area_mm2),
        ),
    )


@pytest.mark.parametrize(
    ("length_m", "width_m", "by_run", "by_area", "required"),
    [(8, 6, 24_000, 24_000, 24_000), (10, 9, 30_000, 45_000, 45_000)],
)
def test_the_two_worked_houses(length_m, width_m, by_run, by_area, required):
    found = void_air(house(length_m, width_m))

    assert (found.by_run_mm2, found.by_area_mm2) == (by_run, by_area)
    assert found.required_mm2 == required


@pytest.mark.parametrize(("width_m", "governs"), [(5.9, "run"), (6.1, "area")])
def test_the_area_rule_governs_from_six_metres_between_the_vented_walls(width_m, governs):
    found = void_air(house(9, width_m))

    assert (found.by_area_mm2 > found.by_run_mm2) == (governs == "area")


@pytest.mark.parametrize(("each", "passes"), [(12_000, True), (11_999, False)])
def test_twelve_thousand_in_each_long_wall_of_the_first_house_is_just_enough(each, passes):
    assert void_air(in_both_long_walls(8, 6, each)).outcome.passes is passes


def test_read_as_each_wall_by_itself_one_wall_cannot_make_up_for_the_other():
    uneven = house(
        8, 6, clear_mm=200,
        openings=(
            Opening(id=1, at=(4000, 0), free_area_mm2=18_000),
            Opening(id=2, at=(4000, 6000), free_area_mm2=6000),
        ),
    )  # fmt: skip

    added = void_air(uneven)
    each = void_air(uneven, VentilationSettings(reading="each_wall"))

    assert (added.provided_mm2, added.outcome.passes) == (24_000, True)
    assert each.outcome.passes is False
    assert [side.short_mm2 for side in each.sides] == [0, 6000]


@pytest.mark.parametrize(("clear_mm", "passes"), [(150, True), (149, False)])
def test_the_void_is_150_mm_high_at_least(clear_mm, passes):
    void = in_both_long_walls(8, 6, 12_000)
    low = house(8, 6, openings=void.openings, clear_mm=clear_mm)

    assert void_air(low).outcome.passes is passes


@pytest.mark.parametrize(("under_plate_mm", "passes"), [(75, True), (74, False)])
def test_the_plate_is_75_mm_above_the_ground_cover_at_least(under_plate_mm, passes):
    void = in_both_long_walls(8, 6, 12_000)
    low = house(8, 6, openings=void.openings, clear_mm=200, under_plate_mm=under_plate_mm)

    assert void_air(low).outcome.passes is passes


def test_pipes_of_100_mm_carry_a_wall_that_an_extension_hides():
    outline = ((0, 0), (8000, 0), (8000, 6000), (0, 6000), (0, 0))
    void = Void(outline=outline, walls=walls_of(outline, {3: "solid_floor"}))

    hidden = next(side for side in void_air(void).sides if side.walls == ("wall 3",))

    # 12 000 mm² over π/4 · 100² = 7854 mm² a pipe.
    assert hidden.pipes == math.ceil(12_000 / (math.pi / 4 * 100**2)) == 2


# Free areas: the data file's rows; plastic second hand, cast iron second hand, clay from memory.
@pytest.mark.parametrize(
    ("name", "face", "least"),
    [
        ("plastic", "215 × 65 mm", 6000),
        ("cast iron", "9 × 3 in", 4500),
        ("clay, square holes", "215 × 65 mm", 1300),
    ],
)
def test_how_many_air_bricks_counts_with_the_least_free_area_of_the_kind(name, face, least):
    found = void_air(house(8, 6))

    (kind,) = [row for row in KINDS if (row.name, row.face) == (name, face)]
    assert kind.least_mm2 == least
    for side in found.sides:
        (bricks,) = [row for row in side.bricks if row.kind == f"{name}, {face}"]
        assert bricks.how_many == math.ceil(12_000 / least)
