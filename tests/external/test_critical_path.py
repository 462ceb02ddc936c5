"""Earliest times of a network of tasks against the longest path of a graph library.

Source: networkx (BSD), `dag_longest_path_length`; the critical path method itself
(Kelley and Walker 1959, from memory): with hands for everything, the shortest duration of a
project is the longest path through its network.

Each task is one node, its start; each link is an edge as long as the shortest time between
the two starts that it allows (a task in one piece does not stretch).
"""

import random
from datetime import UTC, datetime

import networkx as nx
import pytest

from apps.planning.problem import Activity, Calendar, Link, Problem, Ref, Release
from apps.planning.solver import solve
from tests.checker import violations

KINDS = ["FS", "FS", "SS", "FF", "SF"]
HORIZON = 4000


def network(seed):
    """30 tasks in one piece, some released late, with links that never go back."""
    draw = random.Random(seed)
    efforts = {f"t{n:02}": draw.randint(1, 40) for n in range(30)}
    keys = sorted(efforts)
    pairs = {tuple(sorted(draw.sample(keys, 2))) for _ in range(50)}
    activities = tuple(
        Activity(
            key,
            Ref("task", n, key),
            effort=efforts[key],
            splittable=False,
            calendars=("always",),
            set_up=draw.choice([0, 0, 2]),
            releases=(Release(draw.randint(0, 60), "not_before", ""),) if n % 5 == 0 else (),
        )
        for n, key in enumerate(keys)
    )
    links = tuple(
        Link(before, after, draw.choice(KINDS), min_lag=draw.choice([0, 0, 4, 24]))
        for before, after in sorted(pairs)
    )
    return Problem(
        origin=datetime(2026, 6, 1, tzinfo=UTC),
        horizon=HORIZON,
        activities=activities,
        links=links,
        calendars=(Calendar("always", "no_working_time", "", ((0, HORIZON),)),),
    )


def graph_of(problem):
    graph = nx.DiGraph()

    def edge(one, two, length):
        # Two links may join the same two tasks: the longer wait counts.
        known = graph.get_edge_data(one, two, {"weight": length})["weight"]
        graph.add_edge(one, two, weight=max(known, length))

    duration = {a.key: a.set_up + a.effort for a in problem.activities}
    for activity in problem.activities:
        edge("begin", activity.key, max([0, *(r.at for r in activity.releases)]))
        edge(activity.key, "done", duration[activity.key])
    for link in problem.links:
        since = duration[link.before] if link.kind[0] == "F" else 0
        until = duration[link.after] if link.kind[1] == "F" else 0
        edge(link.before, link.after, since + link.min_lag - until)
    return graph


@pytest.mark.parametrize("seed", range(10))
def test_a_network_with_hands_for_everything_ends_with_its_critical_path(seed):
    problem = network(seed)

    solution = solve(problem, deterministic_seconds=10.0)

    critical = nx.dag_longest_path_length(graph_of(problem), weight="weight")
    finish = solution.level("finish")
    assert (finish.value, finish.bound) == (critical, critical)
    assert violations(problem, solution) == []
