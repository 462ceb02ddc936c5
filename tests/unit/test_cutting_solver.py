"""The cutter as a whole: plans that keep the rules, better than first fit, locked cuts, bounds."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.cutting.components import split
from apps.timber.cutting.measure import measure
from apps.timber.cutting.problem import Bin, CuttingProblem, Part, Pattern
from apps.timber.cutting.solver import solve_cutting
from tests.unit.cutting_stories import first_fit, problems, stock, values, what_is_wrong


def solve(problem, **options):
    return solve_cutting(problem, **({"seconds": 20.0} | options))


@settings(max_examples=20, deadline=None)
@given(problem=problems(most_parts=9, most_runs=5))
def test_a_plan_keeps_the_rules_and_its_levels_are_what_the_patterns_are_worth(problem):
    solution = solve(problem)
    assert what_is_wrong(problem, solution) == []
    assert values(solution) == [
        value for _, _, value in measure(problem, solution.patterns, solution.unmet)
    ]
    assert all(level.bound <= level.value for level in solution.levels)


@settings(max_examples=20, deadline=None)
@given(problem=problems(most_parts=9, most_runs=5), seconds=st.sampled_from([0.0, 0.02, 20.0]))
def test_never_worse_than_first_fit_however_little_time_there_is(problem, seconds):
    assert values(solve(problem, seconds=seconds)) <= first_fit(problem)


@settings(max_examples=12, deadline=None)
@given(problem=problems(most_parts=7), length=st.integers(5, 40), sold=st.booleans())
def test_one_more_bin_never_makes_a_plan_worse(problem, length, sold):
    before = solve(problem)
    more = Bin(
        key="more", length_mm=length, supply=None if sold else 1, cost=7 if sold else 0,
        opens=None if sold else "T9",
    )  # fmt: skip
    after = solve(replace(problem, bins=(*problem.bins, more)))
    assert before.proven
    assert after.proven
    assert values(after) <= values(before)


def test_begun_from_an_earlier_plan_no_time_at_all_is_never_worse():
    problem = CuttingProblem(
        parts=tuple(
            Part(key=str(n), length_mm=n, quantity=2)
            for n in (370, 410, 455, 500, 545, 590, 630, 710)
        ),
        bins=stock(1000, 1500),
        kerf_mm=3,
    )
    earlier = solve(problem)
    assert values(earlier) < values(solve(problem, seconds=0.0))
    again = replace(problem, bins=(*problem.bins, Bin(key="T1", length_mm=300, opens="T1")))
    assert values(solve(again, seconds=0.0, start=earlier.patterns)) <= values(earlier)


def test_a_plan_that_no_longer_fits_is_taken_as_far_as_it_does():
    problem = CuttingProblem(
        parts=(Part(key="a", length_mm=400, quantity=2),), bins=(Bin(key="T", length_mm=500),)
    )
    start = (Pattern("T", ("a", "a")), Pattern("gone", ("a",)), Pattern("T", ("unknown",)))
    solution = solve(problem, start=start)
    assert solution.patterns == (Pattern("T", ("a",)),)
    assert solution.unmet == (("a", 1),)


def test_locked_parts_stay_where_they_are_and_what_is_free_is_still_cut_from():
    problem = CuttingProblem(
        parts=(
            Part(key="a", length_mm=300),
            Part(key="b", length_mm=690),
        ),
        bins=(Bin(key="T1", length_mm=1000, opens="T1"), *stock(700, 1000)),
        kerf_mm=3,
        locked=(Pattern("S1000", ("a",)),),
    )
    solution = solve(problem)
    assert solution.patterns == (Pattern("S1000", ("b", "a")),)
    assert values(solution) == [0, 1000, 0, 0, 2]
    assert solution.proven


def test_a_lock_counts_even_where_nothing_else_is_cut():
    problem = CuttingProblem(
        parts=(Part(key="a", length_mm=300),),
        bins=(Bin(key="T1", length_mm=1000, opens="T1", cost=4),),
        least_offcut_mm=200,
        locked=(Pattern("T1", ("a",)),),
    )
    solution = solve(problem)
    assert solution.patterns == (Pattern("T1", ("a",)),)
    assert values(solution) == [0, 4, 1, 2 * 200 - 200 * 200 // 700, 1]
    assert solution.proven


def test_the_more_important_need_is_met_when_there_is_not_enough():
    problem = CuttingProblem(
        parts=(
            Part(key="long", length_mm=900, rank=1),
            Part(key="first", length_mm=600, rank=0),
            Part(key="hopeless", length_mm=5000, rank=0),
        ),
        bins=(Bin(key="T1", length_mm=1000, opens="T1"),),
        kerf_mm=3,
    )
    solution = solve(problem)
    assert solution.unmet == (("long", 1), ("hopeless", 1))
    assert [(level.rank, level.value) for level in solution.levels[:2]] == [(0, 1), (1, 1)]
    assert solution.proven


def test_a_dearer_plan_that_meets_more_is_still_made_as_cheap_as_can_be():
    """First fit wastes the free run on the part that could be bought, and leaves one unmet."""
    problem = CuttingProblem(
        parts=(Part(key="a", length_mm=9), Part(key="b", length_mm=8), Part(key="c", length_mm=8)),
        bins=(
            Bin(key="T1", length_mm=9),
            Bin(key="S", length_mm=9, supply=None, cost=7, takes=frozenset(("a", "b"))),
            Bin(key="R", length_mm=17, supply=None, cost=9, takes=frozenset(("a", "b"))),
        ),
    )
    solution = solve(problem)
    assert values(solution)[:2] == [0, 9]
    assert solution.levels[1].proven


def test_two_runs_of_one_piece_are_opened_once():
    runs = (
        Bin(key="T1.a", length_mm=500, opens="T1"),
        Bin(key="T1.b", length_mm=500, opens="T1"),
        Bin(key="T2", length_mm=500, opens="T2"),
    )
    problem = CuttingProblem(parts=(Part(key="a", length_mm=480, quantity=2),), bins=runs)
    solution = solve(problem)
    assert {pattern.bin_key for pattern in solution.patterns} == {"T1.a", "T1.b"}
    assert [level.value for level in solution.levels if level.name == "opened"] == [1]


def test_free_timber_comes_before_bought_and_ripping_is_paid():
    problem = CuttingProblem(
        parts=(Part(key="a", length_mm=480),),
        bins=(Bin(key="T1", length_mm=500, handling={"a": 300}), *stock(500)),
    )
    assert solve(problem).patterns == (Pattern("T1", ("a",)),)
    dear = replace(problem, bins=(replace(problem.bins[0], handling={"a": 600}), *stock(500)))
    assert solve(dear).patterns == (Pattern("S500", ("a",)),)


def test_of_plans_alike_in_cost_the_one_that_leaves_a_long_offcut_is_chosen():
    problem = CuttingProblem(
        parts=(Part(key="a", length_mm=1000, quantity=2), Part(key="b", length_mm=700, quantity=2)),
        bins=stock(2900),
        least_offcut_mm=300,
    )
    solution = solve(problem)
    assert sorted(sorted(pattern.part_keys) for pattern in solution.patterns) == [
        ["a", "a", "b"],
        ["b"],
    ]


def test_sections_that_do_not_meet_are_solved_apart():
    problem = CuttingProblem(
        parts=tuple(Part(key=f"{s}{n}", length_mm=300 + n) for s in "ab" for n in range(3)),
        bins=tuple(
            Bin(key=s, length_mm=1000, supply=None, takes=frozenset(f"{s}{n}" for n in range(3)))
            for s in "ab"
        ),
    )
    apart = split(problem)
    assert [len(component.items) for component in apart.components] == [3, 3]


def test_runs_of_one_piece_keep_sections_together():
    runs = [
        Bin(key=s, length_mm=500, opens="T1", takes=frozenset((s.upper(),))) for s in ("a", "b")
    ]
    parts = (Part(key="A", length_mm=400), Part(key="B", length_mm=400))
    assert len(split(CuttingProblem(parts=parts, bins=tuple(runs))).components) == 1


def test_nothing_wanted_is_answered_at_once():
    solution = solve(CuttingProblem(parts=(), bins=stock(1000)))
    assert solution.patterns == ()
    assert solution.proven


def test_nothing_to_cut_from_leaves_everything_unmet():
    solution = solve(CuttingProblem(parts=(Part(key="a", length_mm=10, quantity=3),), bins=()))
    assert solution.unmet == (("a", 3),)
    assert solution.proven


def test_a_second_process_gives_a_plan_that_keeps_the_rules_and_knows_a_bound():
    sections = range(8)
    problem = CuttingProblem(
        parts=tuple(
            Part(key=f"{s}-{n}", length_mm=400 + 97 * ((s * 7 + n * 13) % 23))
            for s in sections
            for n in range(12)
        ),
        bins=tuple(
            Bin(
                key=f"{s}-{length}", length_mm=length, supply=None, cost=length,
                takes=frozenset(f"{s}-{n}" for n in range(12)),
            )
            for s in sections
            for length in (2400, 3000, 4800)
        ),
        kerf_mm=3,
        least_offcut_mm=300,
    )  # fmt: skip
    solution = solve(problem, seconds=1.5, workers=2)
    assert what_is_wrong(problem, solution) == []
    assert values(solution) <= first_fit(problem)
    cost = solution.levels[1]
    assert 0 < cost.bound <= cost.value
