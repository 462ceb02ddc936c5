"""From needs and pieces to bars: by hand, and by property over drawn piles."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.bars import bars
from apps.timber.cutting.problem import CuttingSolution, Level, Pattern
from apps.timber.cutting.solver import solve_cutting
from apps.timber.layout import (
    Begun,
    CutSettings,
    Pinned,
    StockData,
    Wanted,
    question,
    ranks,
    sound_stretches,
)
from apps.timber.matching import Matcher
from apps.timber.pieces_as_data import DefectData, NeedData, PieceData
from apps.timber.runs import RunSettings, matters
from apps.timber.unmet import ShorterLap, unmet

TODAY = date(2026, 3, 2)
KERF = 3


def piece(number, length_mm, *defects, **fields):
    given_ = {"breadth_mm": 50, "depth_mm": 100, "strength_class": "C16", **fields}
    return PieceData(
        id=number, mark=f"T{number}", length_mm=length_mm,
        defects=tuple(
            DefectData(kind=kind, from_mm=start, to_mm=stop) for kind, start, stop in defects
        ),
        **given_,
    )  # fmt: skip


def need(number, length_mm, quantity=1, **fields):
    given_ = {
        "role": "noggin", "breadth_mm": 50, "depth_mm": 100, "moisture_limit_pct": None, **fields,
    }  # fmt: skip
    return NeedData(
        id=number, title=f"Need {number}", quantity=quantity, length_mm=length_mm, **given_
    )


def asked(needs, pieces, stock=(), using=None, **more):
    using = using or CutSettings(kerf_mm=KERF)
    matcher = Matcher(today=TODAY, settings=using.runs)
    return question(
        wanted=[Wanted(need=one, count=one.quantity) for one in needs],
        pieces=pieces, matches=matcher.match_all(needs, pieces), stock=stock,
        sold=Matcher(today=TODAY, settings=using.runs).match_all(
            needs, [one.as_piece() for one in stock]
        ),
        settings=using, **more,
    )  # fmt: skip


def solved(found):
    return solve_cutting(found.problem, seconds=5, workers=1, seed=1)


def test_each_clear_run_of_a_piece_is_a_bin_and_they_open_one_piece():
    found = asked([need(1, 400)], [piece(7, 3000, ("nails", 1400, 1500))])

    assert [(b.length_mm, b.opens) for b in found.problem.bins] == [(1275, "7"), (1375, "7")]
    assert found.divided == ()


def test_where_roles_differ_a_piece_is_divided_at_what_ends_a_sound_length_for_either():
    knotty = piece(1, 3000, ("knot", 1000, 1100))

    found = sound_stretches(
        knotty, {"joist", "noggin"}, RunSettings(end_trim_mm=100), from_mm=0, kerf_mm=KERF
    )

    assert found == [
        (100, 1000, frozenset({"joist", "noggin"})),
        (1003, 1100, frozenset({"noggin"})),
        (1103, 2900, frozenset({"joist", "noggin"})),
    ]


def test_a_divided_piece_is_named_since_the_answer_is_not_exact_there():
    needs = [need(1, 400), need(2, 800, role="joist")]

    assert asked(needs, [piece(1, 3000, ("knot", 1000, 1100))]).divided == ("T1",)
    assert asked(needs, [piece(1, 3000, ("nails", 1000, 1100))]).divided == ()


def test_a_piece_that_is_sawn_in_part_is_cut_from_there_on_and_is_open_already():
    found = asked([need(1, 400)], [piece(7, 3000)], begun=[Begun(piece_id=7, from_mm=1203)])

    assert [(b.length_mm, b.opens) for b in found.problem.bins] == [(2900 - 1203, None)]


def test_a_new_length_has_its_cost_and_supply_and_no_trim():
    stock = StockData(
        id=3, breadth_mm=50, depth_mm=100, length_mm=2400, cost_pence=850, available=4,
        strength_class="C24",
    )  # fmt: skip

    (new,) = asked([need(1, 400)], [], [stock]).problem.bins

    assert (new.length_mm, new.cost, new.supply, new.opens) == (2400, 850, 4, None)


def test_ripping_costs_by_the_metre_and_the_pass_rounded_up():
    using = CutSettings(kerf_mm=KERF, ripping_pence_per_m=101)

    thick = piece(7, 3000, breadth_mm=100, depth_mm=150)
    (run,) = asked([need(1, 333)], [thick], using=using).problem.bins

    # Two passes of 0.333 m at 101 pence: 67.27.
    assert dict(run.handling) == {"need 1": 68}


def test_needs_are_met_by_priority_and_then_by_day():
    found = ranks([
        need(1, 400), need(2, 400, priority=1), need(3, 400, needed_by=date(2026, 3, 9)),
        need(4, 400, priority=1),
    ])  # fmt: skip

    assert found == {2: 0, 4: 0, 3: 1, 1: 2}


def test_the_longest_part_of_a_sound_length_comes_first_and_the_saw_is_counted():
    found = asked([need(1, 400), need(2, 900)], [piece(7, 3000)])
    answer = CuttingSolution(
        patterns=(Pattern("piece 7 from 100", ("need 1", "need 2")),), unmet=(), levels=(),
        proven=True, seconds=0,
    )  # fmt: skip

    (bar,) = bars(found, answer)

    assert [(p.need_id, p.from_mm, p.to_mm) for p in bar.parts] == [(2, 100, 1000), (1, 1003, 1403)]


def test_a_pinned_part_stays_in_its_sound_length():
    needs, pieces = [need(1, 400)], [piece(1, 700), piece(2, 603)]

    free = bars(asked(needs, pieces), solved(asked(needs, pieces)))
    kept = asked(needs, pieces, pinned=[Pinned(1, 1, None, 100)])

    assert [bar.piece_id for bar in free] == [2]
    assert [(bar.piece_id, bar.parts[0].pinned) for bar in bars(kept, solved(kept))] == [(1, True)]


def test_a_pin_whose_sound_length_is_gone_holds_nothing():
    needs, pieces = [need(1, 400)], [piece(1, 3000, ("decay", 0, 2000))]

    found = asked(needs, pieces, pinned=[Pinned(1, 1, None, 100)])

    assert found.problem.locked == ()


# What could not be met.


def sentence_of(needs, pieces, stock=(), laps=None):
    found = asked(needs, pieces, stock)
    (row,) = unmet(found, solved(found), needs=needs, pieces=pieces, stock=stock, laps=laps or {})
    return row


def test_drawing_the_nails_is_offered_before_a_longer_piece():
    row = sentence_of([need(1, 1500)], [piece(1, 1900, ("nails", 900, 950)), piece(2, 1690)])

    assert [change.kind for change in row.changes] == ["draw_nails", "longer"]
    assert "drawing the nails in T1" in row.sentence


def test_what_is_left_of_a_piece_that_is_cut_counts_as_its_length():
    row = sentence_of([need(1, 800, 2)], [piece(1, 1700)])

    (change,) = row.changes
    # 1500 mm sound, 800 mm and a kerf gone: 697 mm left.
    assert change.figures == {"mm": 103, "piece": 1}
    assert row.sentence.startswith("“Need 1” (800 mm, 50 × 100 mm): 1 of 2 is not met")


def test_one_more_of_what_is_scarce_is_offered():
    stock = StockData(
        id=3, breadth_mm=50, depth_mm=100, length_mm=1000, cost_pence=850, available=1,
        strength_class="C24",
    )  # fmt: skip

    row = sentence_of([need(1, 900, 2)], [], [stock])

    assert [change.kind for change in row.changes] == ["buy_more"]
    assert "only 1 to be had" in row.sentence


def test_an_untreated_piece_may_be_treated():
    row = sentence_of([need(1, 400, treated=True)], [piece(1, 1000)])

    assert row.sentence.endswith("it would be met by treating T1.")


def test_the_lap_that_the_nearest_piece_would_leave_is_said_as_it_is_checked():
    asked_for = []

    def lap(shorter_mm):
        asked_for.append(shorter_mm)
        return ShorterLap("J5", 540, 1.112, passes=False)

    row = sentence_of([need(1, 1200, role="lap_end")], [piece(1, 1340)], laps={1: lap})

    assert asked_for == [60]
    assert row.sentence.endswith(
        "it would be met by a piece 60 mm longer than the 1140 mm sound and free in T1, or by "
        "J5's lap reduced to 540 mm, which fails the lap check at 112 %."
    )


def test_a_lap_that_just_fails_is_never_said_to_be_full():
    row = sentence_of(
        [need(1, 1200, role="lap_end")], [piece(1, 1340)],
        laps={1: lambda _: ShorterLap("J5", 540, 1.0001, passes=False)},
    )  # fmt: skip

    assert "fails the lap check at 101 %" in row.sentence


def test_a_piece_that_fails_for_strength_is_never_offered():
    row = sentence_of(
        [need(1, 400, role="joist", strength_class="C24")],
        [piece(1, 1000, strength_class="C16", grade_basis="stamped")],
    )

    assert row.changes == ()


# By property.

KINDS = ["decay", "split", "knot", "nails", "hole"]


@st.composite
def piles(draw):
    """Up to four pieces with up to three defects each, up to five needs, perhaps stock."""
    pieces = []
    for number in range(draw(st.integers(0, 4))):
        length = draw(st.integers(600, 4000))
        defects = []
        for _ in range(draw(st.integers(0, 3))):
            start = draw(st.integers(0, length - 20))
            defects.append((draw(st.sampled_from(KINDS)), start, start + draw(st.integers(5, 20))))
        pieces.append(piece(number + 1, length, *defects))
    roles = st.sampled_from(["noggin", "joist", "plate"])
    needs = [
        need(
            number + 1, draw(st.integers(50, 2500)), draw(st.integers(1, 3)), role=draw(roles),
            priority=draw(st.integers(1, 3)),
        )
        for number in range(draw(st.integers(1, 5)))
    ]  # fmt: skip
    stock = [
        StockData(id=1, breadth_mm=50, depth_mm=100, length_mm=2400, cost_pence=900,
                  strength_class="C24")
    ][: draw(st.integers(0, 1))]  # fmt: skip
    return needs, pieces, stock


@settings(max_examples=40, deadline=None)
@given(piles())
def test_no_part_crosses_what_matters_none_is_lost_and_none_is_too_many(drawn):
    needs, pieces, stock = drawn
    found = asked(needs, pieces, stock)
    solution = solved(found)

    laid = bars(found, solution)

    by_id, wanted = {one.id: one for one in pieces}, {one.id: one for one in needs}
    cut = dict.fromkeys(wanted, 0)
    for bar in laid:
        ends = 0
        for part in bar.parts:
            asked_for = wanted[part.need_id]
            cut[part.need_id] += 1
            assert part.to_mm - part.from_mm == asked_for.length_mm
            assert part.from_mm >= (ends + KERF if ends else 0)
            ends = part.to_mm
            if bar.piece_id is not None:
                old = by_id[bar.piece_id]
                assert not [
                    defect
                    for defect in old.defects
                    if matters(defect, asked_for.role)
                    and defect.from_mm < part.to_mm
                    and defect.to_mm > part.from_mm
                ]
                assert 100 <= part.from_mm < part.to_mm <= old.length_mm - 100
            else:
                assert part.to_mm <= 2400
    missing = {int(key.split()[1]): count for key, count in solution.unmet}
    assert {key: one.quantity for key, one in wanted.items()} == {
        key: cut[key] + missing.get(key, 0) for key in wanted
    }
    assert len({bar.piece_id for bar in laid if bar.piece_id}) == len(
        [bar for bar in laid if bar.piece_id]
    )
    rows = unmet(found, solution, needs=needs, pieces=pieces, stock=stock, laps={})
    assert {row.need.id: row.count for row in rows} == missing
    assert all(row.sentence.endswith(".") for row in rows)


def better_or_equal(levels: tuple[Level, ...], before: tuple[Level, ...]) -> bool:
    return [level.value for level in levels] <= [level.value for level in before]


@settings(max_examples=15, deadline=None)
@given(piles(), st.integers(600, 4000))
def test_another_sound_piece_never_makes_a_proven_answer_worse(drawn, length_mm):
    needs, pieces, stock = drawn
    before = solved(asked(needs, pieces, stock))
    more = solved(asked(needs, [*pieces, piece(9, length_mm)], stock))

    if more.proven:
        assert better_or_equal(more.levels, before.levels)
    else:
        assert more.levels[0].bound <= before.levels[0].value


@pytest.mark.parametrize("kerf_mm", [0, 3, 8])
def test_parts_in_neighbouring_stretches_leave_room_for_the_saw(kerf_mm):
    found = sound_stretches(
        piece(1, 3000, ("knot", 1000, 1001)), {"joist", "noggin"}, RunSettings(end_trim_mm=0),
        from_mm=0, kerf_mm=kerf_mm,
    )  # fmt: skip

    assert all(later[0] - earlier[1] >= kerf_mm for earlier, later in pairwise(found))
