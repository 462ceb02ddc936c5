"""Air under a floor by its walls: which count, which are short, and what would put it right."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.ventilation import void_air
from apps.checks.ventilation_settings import READINGS, SENTENCES, VentilationSettings
from apps.checks.ventilation_void import Opening, Void, walls_of
from apps.checks.ventilation_walls import reaches_into, walls_beside


def ring(width, length, corner=(0, 0)):
    x, y = corner
    return ((x, y), (x + width, y), (x + width, y + length), (x, y + length), (x, y))


HOUSE = ring(8000, 6000)
FRONT, RIGHT, BACK = (1000, 0), (8000, 3000), (1000, 6000)


def void(*openings, outline=HOUSE, beyond=None, **fields):
    return Void(outline=outline, walls=walls_of(outline, beyond), openings=openings, **fields)


def brick(key, at, area=12_000, **fields):
    return Opening(id=key, at=at, free_area_mm2=area, mark=f"A{key}", **fields)


def side(found, wall):
    (one,) = [row for row in found.sides if wall in row.walls]
    return one


def codes(notes):
    return [note.code for note in notes]


def test_enough_in_two_opposite_walls_passes():
    found = void_air(void(brick(1, FRONT), brick(2, BACK), clear_mm=300))

    assert found.outcome.passes is True
    assert found.outcome.sentence == "The void has 24000 mm² of the 24000 mm² wanted: enough."
    assert [row.ids for row in found.sides] == [(1,), (2,)]


def test_all_of_it_in_one_wall_lets_no_air_across():
    found = void_air(void(brick(1, FRONT, 30_000)))

    assert found.provided_mm2 > found.required_mm2
    assert found.outcome.passes is False
    assert codes(found.outcome.warnings)[0] == "one-side-only"
    assert side(found, "wall 3").short_mm2 == 12_000
    assert {corner.at for corner in found.dead_corners} >= {(0, 6000), (8000, 6000)}


def test_a_void_without_any_opening_is_dead_in_every_corner():
    found = void_air(void())

    assert found.provided_mm2 == 0
    assert len(found.dead_corners) == 4
    assert all(math.isfinite(check.utilisation) for check in found.outcome.checks)
    assert found.outcome.governing == "openings"


def test_the_pair_of_walls_with_openings_is_the_one_that_counts():
    found = void_air(void(brick(1, RIGHT), brick(2, (0, 3000))))

    assert [row.walls for row in found.sides] == [("wall 2",), ("wall 4",)]
    assert (found.by_run_mm2, found.by_area_mm2) == (18_000, 24_000)


def test_an_air_brick_in_a_third_wall_helps_but_is_not_counted():
    found = void_air(void(brick(1, FRONT), brick(2, BACK), brick(3, RIGHT)))

    assert found.provided_mm2 == 24_000
    assert codes(found.not_counted) == ["opening-beside"]
    assert "Air brick A3" in found.not_counted[0].sentence


@pytest.mark.parametrize(("state", "words"), [("blocked", "blocked"), ("covered", "covered")])
def test_a_shut_air_brick_counts_for_nothing_and_is_the_first_thing_to_clear(state, words):
    found = void_air(void(brick(1, FRONT), brick(2, BACK, state=state)))

    back = side(found, "wall 3")
    assert words in found.not_counted[0].sentence
    assert (back.to_clear, back.cleared_mm2, back.bricks) == ((2,), 12_000, ())
    assert "Clearing what is shut gives 12000 mm²." in back.sentence


def test_new_air_bricks_are_counted_for_what_clearing_leaves_short():
    found = void_air(void(brick(1, FRONT), brick(2, BACK, 5000, state="blocked")))

    back = side(found, "wall 3")
    assert back.bricks[0].how_many == math.ceil(7000 / back.bricks[0].free_area_mm2) == 2


def test_no_more_is_cleared_than_is_short():
    shut = [brick(n, (500 * n, 6000), 6000, state="blocked") for n in range(2, 7)]

    found = void_air(void(brick(1, FRONT), *shut))

    assert len(side(found, "wall 3").to_clear) == 2


def test_a_solid_floor_beyond_a_wall_wants_pipes_to_outside():
    found = void_air(void(brick(1, FRONT), brick(2, BACK), beyond={3: "solid_floor"}))

    back = side(found, "wall 3")
    assert "no pipe leads through it" in found.not_counted[0].sentence
    assert (back.open_mm2, back.pipes, back.piped_mm2, back.bricks) == (0, 2, 12_000, ())


def test_an_air_brick_piped_through_the_solid_floor_counts():
    piped = brick(2, BACK, through_solid=True)

    found = void_air(void(brick(1, FRONT), piped, beyond={3: "solid_floor"}, clear_mm=200))

    assert found.outcome.passes is True
    assert side(found, "wall 3").pipes == 0


def test_solid_infill_blocks_the_air_bricks_behind_it_and_no_others():
    hearth = ring(2000, 1000, (500, 2000))

    found = void_air(void(brick(1, FRONT), brick(2, (6000, 0)), brick(3, BACK), infill=(hearth,)))

    assert side(found, "wall 1").ids == (2,)
    assert side(found, "wall 3").ids == ()
    assert len(found.not_counted) == 2


def test_a_party_wall_is_no_outer_wall():
    found = void_air(void(beyond={2: "inside", 4: "inside"}))

    assert found.by_run_mm2 == 24_000
    assert [row.walls for row in found.sides] == [("wall 1",), ("wall 3",)]


def test_where_there_is_no_outer_wall_opposite_that_is_said():
    found = void_air(void(brick(1, FRONT), beyond={2: "inside", 3: "inside", 4: "inside"}))

    assert "no-opposite-wall" in codes(found.outcome.warnings)
    assert found.outcome.passes is False


def test_an_opening_into_another_void_is_none_to_outside():
    found = void_air(void(brick(1, FRONT), brick(2, BACK), beyond={3: "void"}))

    assert "does not open to outside" in found.not_counted[0].sentence


def test_every_outer_wall_is_asked_in_the_strictest_reading():
    found = void_air(
        void(brick(1, FRONT), brick(2, BACK)), VentilationSettings(reading="all_outer_walls")
    )

    assert found.required_mm2 == 42_000
    assert len(found.sides) == 4
    assert found.outcome.passes is False


def test_a_corner_far_from_any_air_brick_is_told():
    found = void_air(void(brick(1, FRONT), brick(2, BACK)))

    assert [corner.at for corner in found.dead_corners] == [(8000, 0), (8000, 6000)]
    assert "7000 mm away" in found.dead_corners[0].sentence


def test_an_air_brick_too_near_the_ground_fails():
    low = brick(2, BACK, above_ground_mm=40)

    found = void_air(void(brick(1, FRONT), low, clear_mm=200))

    assert found.outcome.passes is False
    assert "Air brick A2 above ground: 40 mm of 75 mm wanted" in found.outcome.sentence


def test_a_void_nobody_measured_is_told():
    assert "void-not-measured" in codes(void_air(void()).outcome.warnings)


def test_an_air_brick_at_no_wall_is_refused():
    with pytest.raises(ValueError, match="air brick A1 lies at no wall"):
        void_air(void(brick(1, (4000, 3000))))


def test_the_house_turned_on_its_plan_wants_the_same():
    slanted = ((0, 0), (4800, 6400), (0, 10_000), (-4800, 3600), (0, 0))

    found = void_air(void(outline=slanted))

    assert (found.by_run_mm2, found.by_area_mm2) == (24_000, 24_000)


def test_an_l_shaped_house_counts_all_walls_of_a_side():
    shape = ((0, 0), (8000, 0), (8000, 3000), (5000, 3000), (5000, 6000), (0, 6000), (0, 0))

    found = void_air(void(outline=shape))

    assert found.by_run_mm2 == 24_000
    assert {row.walls for row in found.sides} == {("wall 1",), ("wall 3", "wall 5")}


# --- what lies beyond a wall ---------------------------------------------------------------------


def beyond_of(walls):
    return [(wall.mark, wall.beyond) for wall in walls]


def test_a_solid_floor_along_part_of_a_wall_hides_that_part():
    walls = walls_beside(HOUSE, [(ring(3000, 2500, (8300, 0)), "solid_floor")])

    assert beyond_of(walls) == [
        ("wall 1", "outside"), ("wall 2.1", "solid_floor"), ("wall 2.2", "outside"),
        ("wall 3", "outside"), ("wall 4", "outside"),
    ]  # fmt: skip
    assert walls[1].line == ((8000, 0), (8000, 2500))


def test_a_floor_farther_off_than_a_wall_is_thick_hides_nothing():
    walls = walls_beside(HOUSE, [(ring(3000, 6000, (8501, 0)), "solid_floor")])

    assert {wall.beyond for wall in walls} == {"outside"}


def test_named_party_walls_come_first():
    walls = walls_beside(HOUSE, [(ring(3000, 6000, (8000, 0)), "void")], inside={2})

    assert beyond_of(walls)[1] == ("wall 2", "inside")


def test_a_hearth_within_the_outline_is_infill():
    assert reaches_into(HOUSE, ring(1000, 500, (0, 2000)))
    assert not reaches_into(HOUSE, ring(1000, 500, (8300, 2000)))


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(st.integers(-1000, 9000), st.integers(100, 6000)), max_size=4))
def test_however_it_is_cut_a_wall_keeps_its_length(others):
    neighbours = [(ring(width, 2000, (x, -2300)), "solid_floor") for x, width in others]

    walls = walls_beside(HOUSE, neighbours)

    front = [wall for wall in walls if wall.mark.startswith("wall 1")]
    assert sum(wall.length_mm for wall in front) == pytest.approx(8000)
    assert front[0].line[0] == (0, 0)
    assert front[-1].line[1] == (8000, 0)


# --- by property ---------------------------------------------------------------------------------

openings = st.lists(
    st.builds(
        Opening,
        id=st.integers(1, 99),
        at=st.sampled_from([FRONT, RIGHT, BACK, (0, 3000), (6000, 0), (5000, 6000)]),
        free_area_mm2=st.integers(1, 30_000),
        state=st.sampled_from(["open", "open", "blocked", "covered"]),
        through_solid=st.booleans(),
        above_ground_mm=st.sampled_from([None, 20, 200]),
    ),
    max_size=6,
)
walls = st.dictionaries(
    st.integers(1, 4), st.sampled_from(["outside", "solid_floor", "void", "inside"])
)
readings = st.sampled_from(sorted(READINGS))


@settings(max_examples=120, deadline=None)
@given(openings, walls, readings, st.booleans())
def test_every_answer_is_finite_and_hangs_together(rows, beyond, reading, hearth):
    infill = (ring(1500, 1000, (500, 2000)),) if hearth else ()

    found = void_air(
        void(*rows, beyond=beyond, infill=infill, clear_mm=200),
        VentilationSettings(reading=reading),
    )

    assert found.required_mm2 == max(found.by_run_mm2, found.by_area_mm2)
    assert found.provided_mm2 == sum(row.open_mm2 for row in found.sides)
    assert all(math.isfinite(check.utilisation) for check in found.outcome.checks)
    for row in found.sides:
        assert row.short_mm2 <= row.required_mm2
        enough = row.cleared_mm2 + row.piped_mm2 >= row.short_mm2
        assert bool(row.bricks) is not enough
        for bricks in row.bricks:
            given_then = row.cleared_mm2 + row.piped_mm2 + bricks.how_many * bricks.free_area_mm2
            assert given_then >= row.short_mm2
    if found.outcome.passes:
        assert all(row.short_mm2 == 0 for row in found.sides)


@settings(max_examples=80, deadline=None)
@given(openings, st.integers(1, 20_000))
def test_one_more_open_air_brick_in_the_front_never_makes_it_worse(rows, area):
    before = void_air(void(*rows, clear_mm=200))
    after = void_air(void(*rows, brick(100, FRONT, area), clear_mm=200))

    assert not (before.outcome.passes and not after.outcome.passes)


def test_every_setting_and_reading_has_its_sentence():
    assert set(SENTENCES) == set(VentilationSettings.__dataclass_fields__)


@pytest.mark.parametrize(
    "wrong", [{"reading": "none"}, {"mm2_per_metre": 0}, {"pipe_bore_mm": 0}, {"least_void_mm": -1}]
)
def test_a_setting_out_of_range_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        VentilationSettings(**wrong)
