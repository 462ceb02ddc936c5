"""Circles among links. The independent judge of what is a circle is the standard library's
`graphlib`, over the same points."""

from graphlib import CycleError, TopologicalSorter

from hypothesis import given
from hypothesis import strategies as st

from apps.work.links import Tie, circle_closed_by


def test_a_link_back_along_a_chain_closes_a_circle_named_in_order():
    chain = [Tie(1, 2), Tie(2, 3)]

    assert circle_closed_by(Tie(3, 1), chain) == (3, 1, 2)


def test_the_shortest_of_two_circles_is_named():
    ties = [Tie(1, 2), Tie(2, 3), Tie(1, 3)]

    assert circle_closed_by(Tie(3, 1), ties) == (3, 1)


def test_a_link_forward_closes_none():
    assert circle_closed_by(Tie(1, 3), [Tie(1, 2), Tie(2, 3)]) == ()


def test_one_task_during_another_is_no_circle():
    starts_after = Tie(1, 2, "SS")

    assert circle_closed_by(Tie(2, 1, "FF"), [starts_after]) == ()


def test_two_tasks_that_each_start_after_the_other_are_a_circle():
    assert circle_closed_by(Tie(2, 1, "SS"), [Tie(1, 2, "SS")]) == (2, 1)


def test_a_circle_that_was_there_before_is_not_the_new_links_fault():
    imported = [Tie(1, 2), Tie(2, 1)]

    assert circle_closed_by(Tie(2, 3), imported) == ()


ties = st.builds(
    Tie, st.integers(1, 6), st.integers(7, 12), st.sampled_from(["FS", "SS", "FF", "SF"])
) | st.builds(Tie, st.integers(7, 12), st.integers(1, 6), st.sampled_from(["FS", "SS", "FF", "SF"]))


def has_circle(drawn):
    graph = {}
    for tie in drawn:
        graph.setdefault(tie.held, set()).add(tie.holding)
        for task in (tie.before, tie.after):
            graph.setdefault((task, "finish"), set()).add((task, "start"))
    try:
        TopologicalSorter(graph).prepare()
    except CycleError:
        return True
    return False


@given(st.lists(ties, max_size=12))
def test_links_added_only_when_they_close_no_circle_never_make_one(drawn):
    kept = []
    for tie in drawn:
        closes = bool(circle_closed_by(tie, kept))

        assert closes == has_circle([*kept, tie])
        if not closes:
            kept.append(tie)


@given(st.lists(ties, min_size=1, max_size=12))
def test_a_named_circle_really_goes_round(drawn):
    *before, new = drawn
    circle = circle_closed_by(new, before)

    pairs = {(tie.before, tie.after) for tie in drawn}
    steps = list(zip(circle, (*circle[1:], *circle[:1]), strict=True))
    assert all(step in pairs for step in steps)
    assert not circle or circle[0] == new.before
