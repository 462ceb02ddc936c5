"""Levels against an exhaustive search, a linear program and a straightedge slid by hand.

Sources:
- SR1, SR2, SR3: 3, 5 and 10 mm under a 2 m straightedge laid on the floor (BS 8204): The
  Concrete Society, concrete.org.uk fingertips 1006 and 1009, read.
- Level within 3 mm in each metre up to 6 m, 20 mm over a longer floor; flat with equal offsets:
  NHBC Standards 2020 9.1.5, read.
- 11 and 18 mm sheet as packers: common practice, no source. Three pieces or 25 mm in a stack:
  common practice, no source; no published number was found.
- The searches: every stack on every bearing (and every height to a tenth) tried in turn here,
  and scipy.optimize.linprog (HiGHS) for the least sum of deviations.
"""

import itertools
import random

import numpy as np
import pytest
from scipy.optimize import linprog

from apps.checks.level_settings import FLATNESS_MM, LONG_FLOOR_MM, LevelSettings
from apps.checks.levelling import LevelTask, Packer, Spot, levelled


def on_joists(heights, *, span_mm=3000, centres_mm=400):
    """Spots over two plates; a third height of a joist is at its middle."""
    spots = []
    for joist, (south, north, *middle) in enumerate(heights, start=1):
        places = [(0, south, "south plate"), (span_mm, north, "north plate")]
        places += [(span_mm // 2, height, "") for height in middle]
        for along, height, bearing in places:
            spots.append(
                Spot(
                    id=len(spots) + 1, joist=f"J{joist}", along_mm=along,
                    across_mm=centres_mm * (joist - 1), height_mm=height, bearing=bearing,
                )
            )  # fmt: skip
    return tuple(spots)


def to_hand(*thicknesses):
    return tuple(Packer(thickness_mm=mm) for mm in thicknesses)


# --- the published classes ---------------------------------------------------------------------


def test_the_classes_and_falls_are_the_published_ones():
    settings = LevelSettings()

    assert FLATNESS_MM == {"SR1": 3, "SR2": 5, "SR3": 10}
    assert settings.straightedge_mm == 2000
    assert (settings.slope_mm_per_m, settings.long_fall_mm, LONG_FLOOR_MM) == (3.0, 20.0, 6000)


@pytest.mark.parametrize(
    ("hollow_mm", "flatness", "possible"),
    [(3, "SR1", True), (3.1, "SR1", False), (5, "SR2", True), (5.1, "SR2", False),
     (10, "SR3", True), (10.1, "SR3", False)],
)  # fmt: skip
@pytest.mark.parametrize("sign", [-1, 1], ids=["hollow", "rise"])
def test_two_metres_with_a_hollow_or_a_rise_in_the_middle_are_judged_as_published(
    hollow_mm, flatness, possible, sign
):
    # Without packers and with nothing planed, the floor is what was measured.
    spots = on_joists([(0.0, 0.0, sign * hollow_mm)], span_mm=2000)
    settings = LevelSettings(most_planed_mm=0, slope_mm_per_m=100)

    found = levelled(LevelTask(spots=spots, packers=(), flatness=flatness, settings=settings))

    assert found.possible is possible
    if possible:
        assert max(line.gap_mm for line in found.lines) == pytest.approx(hollow_mm)
    else:
        assert [(one.rule, one.by_mm) for one in found.broken if one.rule == "flatness"] == [
            ("flatness", pytest.approx(0.1))
        ]


@pytest.mark.parametrize(
    ("span_mm", "fall_mm", "possible"),
    [(4000, 12.0, True), (4000, 12.1, False), (6000, 18.0, True), (6000, 18.1, False),
     (8000, 20.0, True), (8000, 20.1, False)],
)  # fmt: skip
def test_the_fall_is_three_millimetres_a_metre_and_twenty_on_a_long_floor(
    span_mm, fall_mm, possible
):
    spots = on_joists([(0.0, -fall_mm)], span_mm=span_mm)
    settings = LevelSettings(most_planed_mm=0)

    found = levelled(LevelTask(spots=spots, packers=(), settings=settings))

    assert found.possible is possible
    broken = {one.rule: one.by_mm for one in found.broken}
    assert broken.get("slope") == (None if possible else pytest.approx(0.1))


# --- every stack on every bearing ----------------------------------------------------------------


def every_stack(thicknesses, pieces, most_mm):
    """Height [tenths] -> fewest pieces."""
    fewest = {}
    for count in range(pieces + 1):
        for chosen in itertools.combinations_with_replacement(thicknesses, count):
            height = round(sum(chosen) * 10)
            if height <= round(most_mm * 10):
                fewest.setdefault(height, count)
    return fewest


def straight_enough(finals, at_mm, most):
    """No three spots within two metres are bent by more than so many tenths."""
    for a, b, c in itertools.combinations(range(len(finals)), 3):
        if at_mm[c] - at_mm[a] <= 2000:
            share = (at_mm[b] - at_mm[a]) / (at_mm[c] - at_mm[a])
            if abs(finals[a] + share * (finals[c] - finals[a]) - finals[b]) > most + 1e-9:
                return False
    return True


def level_enough(finals, at_mm):
    return all(
        abs(finals[a] - finals[b]) <= 0.03 * (at_mm[b] - at_mm[a]) + 1e-9
        for a, b in itertools.combinations(range(len(finals)), 2)
        if at_mm[b] - at_mm[a] >= 1000
    )


def by_trying(heights, thicknesses, *, pieces, target, flatness, within_mm=5.0):
    """(errors, pieces) of the best levelling of joists on two plates, nothing planed; or None."""
    raw = np.round(np.array(heights) * 10).astype(int)
    joists = len(heights)
    fewest = every_stack(thicknesses, pieces, 25)
    at = [400 * n for n in range(joists)]
    best = None
    for lifts in itertools.product(sorted(fewest), repeat=2 * joists):
        final = raw + np.array(lifts).reshape(joists, 2)
        rows = [final[:, 0], final[:, 1]]
        if not all(straight_enough(row, at, FLATNESS_MM[flatness] * 10) for row in rows):
            continue
        if not all(level_enough(row, at) for row in rows):
            continue
        if not all(level_enough(joist, [0, 3000]) for joist in final):
            continue
        used = sum(fewest[lift] for lift in lifts)
        levels = [round(target * 10)] if target is not None else range(final.min(), final.max() + 1)
        for height in levels:
            off = np.abs(final - height)
            if target is not None and off.max() > round(within_mm * 10):
                continue
            key = (int(off.sum()), used)
            best = key if best is None or key < best else best
    return best


SMALL = [
    ([(-7.4, -3.1), (-12.0, 0.0)], (3, 6, 11), 2, 0.0, "SR2"),
    ([(-7.4, -3.1), (-12.0, 0.0)], (3, 6, 11), 2, None, "SR2"),
    ([(-18.2, -20.6), (-3.5, -9.9)], (3, 11, 18), 2, 0.0, "SR1"),
    ([(-18.2, -20.6), (-3.5, -9.9)], (3, 11, 18), 2, None, "SR1"),
    ([(0.0, 4.3), (-6.0, 2.2), (-1.0, -8.0)], (5, 9), 1, None, "SR1"),
    ([(0.0, -4.3), (-6.0, 0.0), (-1.0, -8.0)], (5, 9), 1, 1.0, "SR2"),
    ([(0.0, 0.0), (-12.0, 0.0), (0.0, 0.0)], (4, 7), 1, 0.0, "SR1"),
    ([(0.0, 0.0), (-24.0, 0.0)], (11,), 2, 0.0, "SR3"),
    ([(0.0, 0.0), (-14.0, 0.0)], (18,), 1, 0.0, "SR3"),
]


@pytest.mark.parametrize(("heights", "thicknesses", "pieces", "target", "flatness"), SMALL)
def test_no_stack_on_any_bearing_does_better(heights, thicknesses, pieces, target, flatness):
    settings = LevelSettings(most_pieces=pieces, most_planed_mm=0)
    task = LevelTask(
        spots=on_joists(heights), packers=to_hand(*thicknesses), flatness=flatness,
        target_mm=target, settings=settings,
    )  # fmt: skip

    found = levelled(task)

    tried = by_trying(heights, thicknesses, pieces=pieces, target=target, flatness=flatness)
    assert found.proven
    assert found.possible is (tried is not None)
    if tried is not None:
        values = {level.name: level.value for level in found.levels}
        assert (round(values["errors"] * 10), values["pieces"]) == tried
        assert values["planed"] == 0


def test_what_the_levels_say_is_what_the_sheet_comes_to():
    heights = [(-7.4, -3.1), (-12.0, 0.0), (-2.2, -9.0)]
    found = levelled(LevelTask(spots=on_joists(heights), packers=to_hand(18, 11, 6, 3, 1)))

    values = {level.name: level.value for level in found.levels}
    assert values["errors"] == pytest.approx(sum(abs(row.error_mm) for row in found.sheet))
    assert values["pieces"] == sum(len(row.packers_mm) for row in found.sheet)
    raw = [height for pair in heights for height in pair]
    for row, before in zip(found.sheet, raw, strict=True):
        assert row.final_mm == pytest.approx(before + sum(row.packers_mm) - row.planed_mm)
        assert row.error_mm == pytest.approx(row.final_mm - found.height_mm)


def test_least_is_planed_off_however_the_planing_is_shared():
    # One joist in the middle stands 8 mm proud of its neighbours: SR1 leaves 3 mm of it.
    heights = [(0.0, 0.0), (8.0, 8.0), (0.0, 0.0)]
    settings = LevelSettings(most_planed_mm=10)

    found = levelled(
        LevelTask(spots=on_joists(heights), packers=(), flatness="SR1", settings=settings)
    )

    # At each plate the gap is the middle less the mean of its neighbours: only the middle helps.
    assert found.planed_mm == pytest.approx(10.0)
    assert [row.planed_mm for row in found.sheet] == [0, 0, 5, 5, 0, 0]


# --- a linear program ----------------------------------------------------------------------------


def flattest(raw, lift_matrix, most_mm, *, packed):
    """Least sum of |height + lift − level| over a free level, lifts continuous up to a limit."""
    spots, bearings = lift_matrix.shape
    # Variables: errors, lifts, level.
    cost = np.concatenate([np.ones(spots), np.zeros(bearings + 1)])
    eye, ones = np.eye(spots), np.ones((spots, 1))
    above = np.hstack([-eye, lift_matrix, -ones])
    below = np.hstack([-eye, -lift_matrix, ones])
    bounds = [(0, None)] * spots + [(0, most_mm if packed else 0)] * bearings + [(None, None)]
    solved = linprog(
        cost, A_ub=np.vstack([above, below]), b_ub=np.concatenate([-raw, raw]), bounds=bounds
    )
    assert solved.status == 0
    return solved.fun


def shares(joists):
    """How three spots of a joist (south, north, middle) follow the lifts of its two bearings."""
    one = np.array([[1, 0], [0, 1], [0.5, 0.5]])
    return np.kron(np.eye(joists), one)


@pytest.mark.parametrize("seed", range(4))
def test_without_packers_the_height_is_the_flattest_plane_s(seed):
    draw = random.Random(seed)
    heights = [tuple(round(draw.uniform(-2, 2), 1) for _ in range(3)) for _ in range(4)]
    settings = LevelSettings(most_planed_mm=0, slope_mm_per_m=100)

    found = levelled(
        LevelTask(spots=on_joists(heights), packers=(), flatness="SR3", settings=settings)
    )

    raw = np.array([height for three in heights for height in three])
    errors = next(level.value for level in found.levels if level.name == "errors")
    assert errors == pytest.approx(flattest(raw, shares(4), 25, packed=False), abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_with_fine_packers_the_floor_comes_near_the_flattest_there_is(seed):
    draw = random.Random(seed)
    heights = []
    for _ in range(3):
        south, north = draw.randint(-12, 0), draw.randint(-12, 0)
        heights.append((float(south), float(north), round((south + north) / 2 - draw.random(), 1)))
    packers = to_hand(0.5, 1, 2, 4, 8)
    settings = LevelSettings(most_pieces=4, most_planed_mm=0, most_stack_mm=15)

    found = levelled(
        LevelTask(spots=on_joists(heights), packers=packers, flatness="SR2", settings=settings)
    )

    raw = np.array([height for three in heights for height in three])
    least = flattest(raw, shares(3), 15, packed=True)
    errors = next(level.value for level in found.levels if level.name == "errors")
    # Stacks come in steps of half a millimetre or one: a bearing is off by that at most.
    assert least - 1e-6 <= errors <= least + 6 * 1.0


# --- a straightedge slid along -------------------------------------------------------------------


def slid_along(at_mm, heights_mm):
    """The worst gap under a 2 m edge whose ends rest on the floor, moved by 10 mm."""
    worst = 0.0
    long = min(2000, at_mm[-1] - at_mm[0])
    for start in range(at_mm[0], at_mm[-1] - long + 1, 10):
        ends = np.interp([start, start + long], at_mm, heights_mm)
        for at, height in zip(at_mm, heights_mm, strict=True):
            if start < at < start + long:
                edge = ends[0] + (at - start) / long * (ends[1] - ends[0])
                worst = max(worst, abs(edge - height))
    return worst


@pytest.mark.parametrize("seed", range(6))
def test_a_straightedge_slid_along_shows_no_more_than_is_told(seed):
    draw = random.Random(seed)
    heights = [tuple(round(draw.uniform(-6, 0), 1) for _ in range(3)) for _ in range(8)]
    found = levelled(
        LevelTask(spots=on_joists(heights), packers=to_hand(1, 2, 5), flatness="SR3",
                  target_mm=0.0, settings=LevelSettings(slope_mm_per_m=100))
    )  # fmt: skip

    rows = {(row.joist, row.along_mm): row.final_mm for row in found.sheet}
    joists = [f"J{n}" for n in range(1, 9)]
    told = {line.name: line.gap_mm for line in found.lines}
    for along, name in ((0, "south plate"), (1500, "1500 mm"), (3000, "north plate")):
        finals = [rows[joist, along] for joist in joists]
        assert slid_along([400 * n for n in range(8)], finals) <= told[f"across at {name}"] + 0.1
    for joist in joists:
        finals = [rows[joist, along] for along in (0, 1500, 3000)]
        assert slid_along([0, 1500, 3000], finals) <= told[f"along {joist}"] + 0.1
