"""Published project instances with published optima, and job shops, through the list core.

Source: `data/rcpsp/ORIGIN.md`; job shops `data/job_shop.json`. The schedules are looked at by
`tests/project_checker.py`, which reads the files itself and knows nothing of the engine.
"""

from dataclasses import replace
from pathlib import Path

import networkx
import pytest

from apps.planning.lists.question import question_of
from apps.planning.lists.solver import solve_lists
from apps.planning.lists.windows import narrow
from apps.planning.published.psplib import read_project
from tests.external.test_job_shop import INSTANCES, problem_of
from tests.project_checker import broken, makespan, read

DATA = Path(__file__).parent / "data" / "rcpsp"
OPTIMA = {
    "j301_1.sm": 43,
    "j306_5.sm": 67,
    "j3018_1.sm": 53,
    "psp26.sch": 61,
    "psp71.sch": 113,
}


@pytest.mark.parametrize("name", OPTIMA)
def test_the_published_optimum_is_found_and_proven(name):
    text = (DATA / name).read_text(encoding="utf-8")

    answer = solve_lists(read_project(text), seconds=60, workers=2)

    assert (answer.makespan, answer.bound, answer.status) == (OPTIMA[name],) * 2 + ("proven",)
    assert broken(read(text), answer.starts) == []
    assert makespan(read(text), answer.starts) == OPTIMA[name]


def test_an_instance_published_as_infeasible_is_proven_impossible():
    answer = solve_lists(read_project((DATA / "PSP219.SCH").read_text()), seconds=60, workers=2)

    assert (answer.makespan, answer.starts, answer.status) == (None, (), "impossible")


@pytest.mark.parametrize("name", ["ft06", "la01"])
def test_a_job_shop_is_proven_through_lists_too(name):
    answer = solve_lists(problem_of(INSTANCES[name]), seconds=60, workers=2)

    assert (answer.makespan, answer.status) == (INSTANCES[name]["optimum"], "proven")


def test_without_resources_the_shortest_is_networkx_longest_path():
    text = (DATA / "j301_1.sm").read_text()
    project = read(text)
    graph = networkx.DiGraph()
    for before, after, lag in project.waits:
        graph.add_edge(before, after, weight=lag)
    longest = networkx.dag_longest_path_length(graph)
    problem = read_project(text)
    free = replace(problem, resources=tuple(replace(r, capacity=999) for r in problem.resources))

    answer = solve_lists(free, seconds=60, workers=1)

    assert answer.makespan == answer.bound == longest == 38  # MPM-Time in the file
    windows = narrow(question_of(free), free.horizon, float("inf"))
    early = {
        n: networkx.dag_longest_path_length(graph.subgraph({n} | networkx.ancestors(graph, n)))
        for n in graph
    }
    assert windows.heads.tolist() == [early[n] for n in range(len(problem.activities))]
