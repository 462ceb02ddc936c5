"""Levelling a floor: the sheet, its limits, and why it cannot be done."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.level_settings import FLATNESS_MM, SENTENCES, LevelSettings
from apps.checks.levelling import LevelTask, Packer, Spot, levelled
from apps.checks.packers import stacks


def spot(key, joist, along, height, bearing="", across=None):
    number = int(joist[1:])
    return Spot(
        id=key, joist=joist, along_mm=along, height_mm=height, bearing=bearing,
        across_mm=400 * number if across is None else across,
    )  # fmt: skip


def floor(*pairs, span_mm=3000):
    return tuple(
        spot(2 * n + side, f"J{n}", side * span_mm, height, ("south plate", "north plate")[side])
        for n, pair in enumerate(pairs, start=1)
        for side, height in enumerate(pair)
    )


def to_hand(*packers):
    return tuple(
        Packer(thickness_mm=one) if isinstance(one, int | float)
        else Packer(thickness_mm=one[0], quantity=one[1])
        for one in packers
    )  # fmt: skip


def level(spots, *packers, **fields):
    limits = {key: fields.pop(key) for key in list(fields) if key not in {"flatness", "target_mm"}}
    return levelled(
        LevelTask(
            spots=spots, packers=to_hand(*packers), settings=LevelSettings(**limits), **fields
        )
    )


def sentences(found):
    return [row.sentence for row in found.sheet]


def rules(found):
    return {one.rule: one.by_mm for one in found.broken}


def test_the_sheet_says_which_packers_where_and_what_is_left():
    found = level(floor((-21.6, -3.0), (-18.2, 0.4)), 18, 3, target_mm=0.0)

    assert sentences(found) == [
        "J1 at south plate: 18 + 3, error −0.6 mm.",
        "J1 at north plate: 3, error 0.0 mm.",
        "J2 at south plate: 18, error −0.2 mm.",
        "J2 at north plate: no packer, error +0.4 mm.",
    ]
    assert found.packers_used == ((18, 2), (3, 2))
    assert (found.height_mm, found.fixed, found.proven, found.reached) == (0.0, True, True, "SR1")


def test_a_free_floor_finds_the_height_that_suits_best():
    found = level(floor((-3.0, -3.0), (-14.0, -3.0)), 11)

    assert found.height_mm == -3.0
    assert not found.fixed
    assert all(row.error_mm == 0 for row in found.sheet)


def test_few_packers_are_shared_out():
    one = level(floor((-11.0, 0.0), (-11.0, 0.0)), (11, 1), (5, 9), flatness="SR3", target_mm=0.0)

    used = dict(one.packers_used)
    assert used == {11: 1, 5: 2}
    assert one.possible


def test_a_rise_is_planed_only_as_much_as_the_straightedge_asks():
    joist = (
        spot(1, "J1", 0, 0.0, "south plate"), spot(2, "J1", 1000, 5.0),
        spot(3, "J1", 2000, 0.0, "north plate"),
    )  # fmt: skip

    found = level(joist, flatness="SR1", slope_mm_per_m=10)

    assert found.planed_mm == 2.0
    assert "plane off 2.0 mm" in " ".join(sentences(found))


def test_a_spot_between_bearings_is_lifted_by_its_share():
    joist = (
        spot(1, "J1", 0, -8.0, "south plate"), spot(2, "J1", 1000, -6.0),
        spot(3, "J1", 4000, 0.0, "north plate"),
    )  # fmt: skip

    found = level(joist, 8, target_mm=0.0)

    assert [row.final_mm for row in found.sheet] == [0.0, 0.0, 0.0]


def test_across_the_joists_the_straightedge_counts_as_along_them():
    low_joist = floor((0.0, 0.0), (-4.0, -4.0), (0.0, 0.0))

    assert level(low_joist, flatness="SR1", most_planed_mm=0).possible is False
    assert level(low_joist, flatness="SR2", most_planed_mm=0).possible is True
    told = {line.name: line.gap_mm for line in level(low_joist, most_planed_mm=0).lines}
    assert told["across at south plate"] == 4.0


def test_a_stack_over_its_limit_is_named_with_what_it_lacks():
    found = level(floor((-31.0, 0.0), (0.0, 0.0)), 18, 11, 3, target_mm=0.0)

    assert found.possible is False
    assert found.sheet == ()
    # Within 5 mm of the height is 26 mm of packing; 11 + 11 + 3 is the most that is allowed.
    assert rules(found)["stack"] == 1.0
    assert "J1 at south plate needs" in found.sentence
    assert "cut a bearer to size, or sister the joist" in found.sentence


def test_a_high_joist_under_a_fixed_floor_is_named():
    found = level(floor((9.0, 0.0), (0.0, 0.0)), 3, target_mm=0.0, most_planed_mm=1)

    assert rules(found)["planing"] == 3.0
    assert rules(found)["height"] == 3.0


def test_when_no_rule_alone_would_do_all_of_them_are_told():
    bent = (
        spot(1, "J1", 0, 0.0, "south plate"), spot(2, "J1", 1000, -40.0),
        spot(3, "J1", 2000, 0.0, "north plate"),
    )  # fmt: skip

    found = level(bent, target_mm=0.0)

    assert "All of these have to give way." in found.sentence
    assert len(found.broken) > 1


def test_a_joist_with_one_bearing_is_lifted_whole():
    joist = (spot(1, "J1", 0, -5.0, "south plate"), spot(2, "J1", 3000, -5.0))

    found = level(joist, 5, target_mm=0.0)

    assert [row.lift_mm for row in found.sheet] == [5.0, 0.0]
    assert [row.final_mm for row in found.sheet] == [0.0, 0.0]


@pytest.mark.parametrize(
    ("spots", "words"),
    [
        ((), "spot heights"),
        ((spot(1, "J1", 0, 0.0),), "No spot is at a bearing"),
        ((spot(1, "J1", 0, 0.0, "a"), spot(2, "J1", 0, 1.0, "a")), "same place"),
        ((spot(1, "J1", 0, 0.0, "a"), spot(2, "J1", 9, 301.0, "b")), "differ by more"),
        ((spot(1, "J1", 0, float("nan"), "a"),), "within 20 m"),
    ],
)
def test_spots_that_no_floor_has_are_refused(spots, words):
    with pytest.raises(ValueError, match=words):
        level(spots, 3)


@pytest.mark.parametrize(
    ("packers", "words"),
    [
        ((3, 3), "once"), ((0,), "thick"), ((2.05,), "tenth"), ((float("nan"),), "thick"),
        (tuple(range(1, 12)), "At most"), (((3, -1),), "fewer than no"),
    ],
)  # fmt: skip
def test_packers_that_are_none_are_refused(packers, words):
    with pytest.raises(ValueError, match=words):
        level(floor((0.0, 0.0)), *packers)


def test_stacks_of_one_height_are_made_of_the_fewest_pieces():
    made = stacks(to_hand(3, 6, 9), most_pieces=3, most_tenths=250)

    assert {stack.tenths: stack.pieces for stack in made}[90] == 1
    assert {stack.tenths: stack.pieces for stack in made}[180] == 2
    assert made[0].pieces == 0
    assert max(stack.tenths for stack in made) <= 250


@pytest.mark.parametrize(
    "wrong",
    [{"straightedge_mm": 100}, {"slope_mm_per_m": 0}, {"most_pieces": 5}, {"most_stack_mm": 101},
     {"within_mm": float("nan")}, {"most_planed_mm": float("inf")}],
)  # fmt: skip
def test_a_setting_out_of_range_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        LevelSettings(**wrong)


def test_every_setting_has_its_sentence():
    assert set(SENTENCES) == set(LevelSettings.__dataclass_fields__)


heights = st.integers(-150, 20).map(lambda tenths: tenths / 10)
pairs = st.lists(st.tuples(heights, heights), min_size=1, max_size=4)


@settings(max_examples=25, deadline=None)
@given(pairs, st.sampled_from(sorted(FLATNESS_MM)), st.sampled_from([None, 0.0, 4.0]))
def test_a_sheet_keeps_every_limit_or_names_one_that_cannot_be_kept(rows, flatness, target):
    found = level(floor(*rows), 2, 5, 11, flatness=flatness, target_mm=target, most_pieces=2)

    assert found.possible is not None
    if not found.possible:
        assert found.broken
        assert all(one.by_mm > 0 for one in found.broken)
        return
    for row in found.sheet:
        assert len(row.packers_mm) <= 2
        assert sum(row.packers_mm) == pytest.approx(row.lift_mm)
        assert 0 <= row.planed_mm <= 5
        assert target is None or abs(row.error_mm) <= 5 + 1e-9
    for line in found.lines:
        assert line.gap_mm <= FLATNESS_MM[flatness] + 1e-9
        assert line.fall_mm_per_m <= 3 + 1e-6


@settings(max_examples=15, deadline=None)
@given(pairs)
def test_a_further_thickness_never_makes_it_worse(rows):
    few = level(floor(*rows), 5, 11, target_mm=0.0, most_pieces=2)
    more = level(floor(*rows), 5, 11, 2, target_mm=0.0, most_pieces=2)

    if few.possible:
        assert more.possible
        assert [(one.name, one.value) for one in more.levels[:2]] <= [
            (one.name, one.value) for one in few.levels[:2]
        ]
