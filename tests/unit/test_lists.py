"""The list core: problems without hours, against a plain model and an independent check."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.lists.question import keeps, question_of
from apps.planning.lists.race import Race
from apps.planning.lists.solver import solve_lists
from apps.planning.lists.windows import crowded, narrow
from apps.planning.problem import Activity, Link, OpenSpan, Problem, Ref, Release, Resource
from tests.project_checker import Project, broken, makespan


def problem(durations, waits=(), demands=None, capacities=(1,), horizon=60):
    """Waits are links, or (before, after, lag) from start to start; demands one row a job."""
    demands = demands or [[0] * len(capacities)] * len(durations)
    keys = [f"r{at}" for at in range(len(capacities))]
    return Problem(
        origin=datetime(2026, 1, 1, tzinfo=UTC),
        horizon=horizon,
        activities=tuple(
            Activity(
                str(at), Ref("job", at, str(at)), duration,
                uses=tuple(keys), demand=tuple(demand), mode="elapsed", splittable=False,
            )
            for at, (duration, demand) in enumerate(zip(durations, demands, strict=True))
        ),
        links=tuple(
            wait if isinstance(wait, Link) else Link(str(wait[0]), str(wait[1]), "SS", wait[2])
            for wait in waits
        ),
        resources=tuple(
            Resource(key, key, "tool", capacity)
            for key, capacity in zip(keys, capacities, strict=True)
        ),
    )  # fmt: skip


def plain_optimum(project, horizon):
    """The textbook model; None if there is no schedule."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    starts = [model.new_int_var(0, horizon, "") for _ in project.durations]
    jobs = [
        model.new_fixed_size_interval_var(s, d, "")
        for s, d in zip(starts, project.durations, strict=True)
    ]
    for before, after, lag in project.waits:
        model.add(starts[after] >= starts[before] + lag)
    for at, capacity in enumerate(project.capacities):
        model.add_cumulative(jobs, [demand[at] for demand in project.demands], capacity)
    end = model.new_int_var(0, horizon, "")
    for start, length in zip(starts, project.durations, strict=True):
        model.add(end >= start + length)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    return int(solver.objective_value) if status == cp_model.OPTIMAL else None


@st.composite
def projects(draw, longest_waits):
    count = draw(st.integers(1, 7))
    capacities = draw(st.lists(st.integers(1, 4), min_size=1, max_size=3))
    durations = draw(st.lists(st.integers(0, 5), min_size=count, max_size=count))
    demands = [[draw(st.integers(0, capacity)) for capacity in capacities] for _ in durations]
    waits = {}
    for _ in range(draw(st.integers(0, 2 * count)) if count > 1 else 0):
        before, after = sorted(draw(st.permutations(range(count)))[:2])
        waits[before, after] = durations[before] + draw(st.integers(0, 2))
        if longest_waits and draw(st.booleans()):
            waits[after, before] = -waits[before, after] - draw(st.integers(0, 4))
    return Project(durations, demands, capacities, [(*pair, lag) for pair, lag in waits.items()])


def assert_right(project):
    horizon = sum(project.durations) + sum(abs(lag) for *_, lag in project.waits)
    question = problem(
        project.durations, project.waits, project.demands, project.capacities, horizon
    )

    answer = solve_lists(question, seconds=60, workers=2)

    best = plain_optimum(project, horizon)
    if best is None:
        assert (answer.status, answer.makespan, answer.starts) == ("impossible", None, ())
        return
    assert (answer.status, answer.makespan, answer.bound) == ("proven", best, best)
    assert broken(project, answer.starts) == []
    assert makespan(project, answer.starts) == best
    windows = narrow(question_of(question), best, float("inf"))
    assert windows is not None, "a limit that can be kept was refuted"
    assert max(windows.bound, crowded(question_of(question), windows)) <= best


@settings(max_examples=30, deadline=None)
@given(projects(longest_waits=False))
def test_lists_and_proof_come_to_the_optimum_of_the_plain_model(project):
    assert_right(project)


@settings(max_examples=30, deadline=None)
@given(projects(longest_waits=True))
def test_with_longest_waits_too_and_impossible_is_said_exactly_when_it_is(project):
    assert_right(project)


def test_one_worker_alone_searches_and_proves():
    answer = solve_lists(
        problem([2, 2, 2], demands=[[1]] * 3, capacities=(2,)), seconds=60, workers=1
    )
    assert (answer.makespan, answer.status) == (4, "proven")
    assert answer.first_seconds <= answer.seconds


@pytest.mark.parametrize(
    ("link", "starts"),
    [
        (Link("0", "1", "FS", 1), (0, 4)),
        (Link("0", "1", "SS", 1), (0, 1)),
        (Link("0", "1", "FF", 3), (0, 4)),
        (Link("0", "1", "SF", 7), (0, 5)),
    ],
)
def test_every_kind_of_link_is_a_wait_between_starts(link, starts):
    answer = solve_lists(problem([3, 2], [link]), seconds=60, workers=1)
    assert answer.starts[1] - answer.starts[0] >= starts[1] - starts[0]
    assert answer.makespan == max(3, starts[1] + 2)


def test_a_longest_wait_pulls_the_earlier_activity_along():
    """The second waits for the machine, so the first, at most 1 before it, waits too."""
    machine = [[0], [1], [1]]
    answer = solve_lists(
        problem([1, 2, 5], [Link("0", "1", "FS", 0, 0), Link("2", "1")], machine),
        seconds=60, workers=1,
    )  # fmt: skip
    assert answer.starts == (4, 5, 0)


def test_a_circle_of_waits_is_impossible():
    answer = solve_lists(problem([1, 1], [(0, 1, 2), (1, 0, -1)]), seconds=60, workers=1)
    assert (answer.status, answer.starts, answer.first_seconds) == ("impossible", (), None)


def test_more_than_there_is_is_impossible():
    assert solve_lists(problem([1], demands=[[2]]), seconds=9, workers=1).status == "impossible"


def test_what_does_not_end_by_the_horizon_is_impossible():
    line = problem([3, 3], demands=[[1], [1]], horizon=5)
    assert solve_lists(line, seconds=60, workers=1).status == "impossible"


def test_with_no_time_nothing_is_claimed():
    answer = solve_lists(problem([3, 3], [(0, 1, 3), (1, 0, -9)], [[1], [1]]), seconds=0, workers=1)
    assert (answer.status, answer.makespan) == ("not_found", None)
    assert answer.bound <= 6


def test_nothing_to_do_is_done_at_once():
    assert solve_lists(problem([]), seconds=9, workers=2).makespan == 0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"calendars": ("evenings",)}, "hours"),
        ({"due": 4}, "a date"),
        ({"releases": (Release(3, "not_before", ""),)}, "a date"),
        ({"set_up": 1}, "set-up"),
        ({"splittable": True, "mode": "stints"}, "broken off"),
        ({"uses": ("nothing",)}, "no resource"),
        ({"demand": (1, 1)}, "not one demand"),
    ],
)
def test_what_only_the_house_planner_covers_is_refused(change, words):
    plain = problem([2], demands=[[1]])
    odd = replace(plain, activities=(replace(plain.activities[0], **change),))
    with pytest.raises(ValueError, match=words):
        solve_lists(odd, seconds=1, workers=1)


def test_open_boards_and_waits_in_working_time_are_refused():
    with pytest.raises(ValueError, match="Open boards"):
        solve_lists(
            replace(problem([1]), open_spans=(OpenSpan("0", None, ()),)), seconds=1, workers=1
        )
    with pytest.raises(ValueError, match="working time"):
        solve_lists(
            problem([1, 1], [Link("0", "1", min_lag=1, clock="working")]), seconds=1, workers=1
        )


def test_a_schedule_that_breaks_a_rule_is_never_taken():
    question = question_of(problem([2, 2], [(0, 1, 2)], [[1], [1]]))
    race = Race(question, 9)
    for wrong in [(0, 1), (-1, 2), (0, 59)]:
        assert not keeps(question, wrong)
        race.found(wrong)
    assert race.best is None
    assert not keeps(question_of(problem([2, 2], demands=[[1], [1]])), (0, 1))
    race.found((0, 2))
    assert (race.best, race.end) == ((0, 2), 4)
