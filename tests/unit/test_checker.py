"""The checker of plans itself: a good plan passes, and each rule broken on purpose is told."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from apps.planning.problem import (
    Activity,
    Calendar,
    Hold,
    Level,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
    RouteOpening,
    Solution,
    Stint,
    Unplaced,
    Unready,
)
from tests.checker import LEVELS, broken_rules, measured_levels, violations


def activity(key, effort=4, **more):
    """An hour of a task, splittable, without any rule."""
    return Activity(key=key, ref=Ref("task", 1, key), effort=effort, **more)


def problem(*activities, **more):
    """A problem over two days in June."""
    return Problem(
        origin=datetime(2026, 6, 1, tzinfo=UTC), horizon=192, activities=activities, **more
    )


def solution(asked, *stints, unplaced=(), unready=()):
    """A solution with honest levels."""
    made = Solution(
        stints=tuple(Stint(*stint) for stint in stints),
        unplaced=tuple(Unplaced(key, "none", "", short) for key, short in unplaced),
        unready=tuple(Unready(link, short) for link, short in unready),
    )
    values = measured_levels(asked, made)
    levels = tuple(Level(name, value, value) for name, value in zip(LEVELS, values, strict=True))
    return replace(made, levels=levels)


def rules(asked, *stints, **more):
    """Names of the rules broken by these stints."""
    return {broken.rule for broken in broken_rules(asked, solution(asked, *stints, **more))}


def test_a_plan_that_keeps_every_rule_passes():
    lift = activity("lift", uses=("crew",), calendars=("evenings",), set_up=1, clear_up=1)
    pipe = activity("pipe", fixed=(80, 90))
    fix = activity("fix", 6, shortest_stint=3, releases=(Release(90, "supply", ""),), due=100)
    carpet = activity("carpet")
    asked = problem(
        lift,
        pipe,
        fix,
        carpet,
        links=(Link("lift", "pipe"), Link("pipe", "fix", max_lag=10)),
        calendars=(Calendar("evenings", "no_working_time", "", ((10, 16),)),),
        resources=(Resource("crew", "Mar", "crew"),),
        open_spans=(OpenSpan("lift", "fix", ("carpet",)),),
    )
    stints = [("lift", 10, 16), ("pipe", 80, 90), ("fix", 92, 95), ("fix", 96, 99)]

    assert violations(asked, solution(asked, *stints, ("carpet", 99, 103))) == []


def test_work_without_its_whole_effort_is_told():
    asked = problem(activity("lift"))

    assert rules(asked, ("lift", 0, 3)) == {"effort"}
    assert rules(asked, ("lift", 0, 5)) == {"effort"}
    assert "gets 3 of 4" in violations(asked, solution(asked, ("lift", 0, 3)))[0]


def test_set_up_and_clear_up_are_not_effort():
    asked = problem(activity("lift", set_up=1, clear_up=1))

    assert rules(asked, ("lift", 0, 6)) == set()
    assert rules(asked, ("lift", 0, 4)) == {"effort"}
    assert rules(asked, ("lift", 0, 4), ("lift", 5, 9)) == set()


def test_a_stint_shorter_than_the_shortest_is_told():
    asked = problem(activity("lift", shortest_stint=2))

    assert rules(asked, ("lift", 0, 1), ("lift", 5, 8)) == {"shortest"}
    assert rules(problem(activity("lift", 1, shortest_stint=2)), ("lift", 0, 1)) == set()


def test_splitting_what_cannot_be_split_is_told():
    asked = problem(activity("screed", splittable=False))

    assert rules(asked, ("screed", 0, 2), ("screed", 5, 7)) == {"split"}


@pytest.mark.parametrize("second", [(1, 3), (2, 4)])
def test_stints_of_one_task_that_meet_or_overlap_are_told(second):
    assert rules(problem(activity("lift")), ("lift", 0, 2), ("lift", *second)) == {"apart"}


def test_work_before_the_origin_or_after_the_horizon_is_told():
    asked = problem(activity("lift"))

    assert rules(asked, ("lift", -1, 3)) == {"origin"}
    assert rules(asked, ("lift", 188, 192)) == set()
    assert rules(asked, ("lift", 189, 193)) == {"horizon"}


def test_a_start_before_the_release_is_told_with_its_reason():
    asked = problem(activity("lay", releases=(Release(8, "supply", "Boards come at 10:00."),)))

    broken = broken_rules(asked, solution(asked, ("lay", 7, 11)))

    assert [(one.rule, one.code) for one in broken] == [("release", "supply")]


def test_work_outside_any_one_calendar_is_told_with_its_reason():
    asked = problem(
        activity("saw", calendars=("mar", "loud")),
        calendars=(
            Calendar("mar", "no_working_time", "", ((0, 20),)),
            Calendar("loud", "quiet_hours", "", ((0, 8), (12, 20))),
        ),
    )

    broken = broken_rules(asked, solution(asked, ("saw", 6, 10)))

    assert [(one.rule, one.code) for one in broken] == [("calendar", "quiet_hours")]
    assert rules(asked, ("saw", 6, 8), ("saw", 12, 14)) == set()


def test_a_crew_in_two_places_is_told_for_both():
    asked = problem(
        activity("lift", uses=("crew",)),
        activity("saw", uses=("crew",)),
        resources=(Resource("crew", "Mar", "crew"),),
    )

    broken = broken_rules(asked, solution(asked, ("lift", 0, 4), ("saw", 3, 7)))

    assert {(one.activity, one.code) for one in broken} == {
        ("lift", "crew_busy"),
        ("saw", "crew_busy"),
    }
    assert rules(asked, ("lift", 0, 4), ("saw", 4, 8)) == set()


def test_two_of_a_tool_serve_two_stints_and_not_three():
    three = [activity(key, uses=("prop",)) for key in ("a", "b", "c")]
    asked = problem(*three, resources=(Resource("prop", "Prop", "tool", capacity=2),))

    assert rules(asked, ("a", 0, 4), ("b", 0, 4), ("c", 4, 8)) == set()
    assert rules(asked, ("a", 0, 4), ("b", 0, 4), ("c", 3, 7)) == {"resource"}


def test_a_visit_holds_the_crew_but_two_visits_at_once_are_a_fact():
    asked = problem(
        activity("pipe", uses=("crew",), fixed=(0, 4)),
        activity("wire", uses=("crew",), fixed=(2, 6)),
        activity("lift", uses=("crew",)),
        resources=(Resource("crew", "Mar", "crew"),),
    )
    visits = [("pipe", 0, 4), ("wire", 2, 6)]

    assert rules(asked, *visits, ("lift", 6, 10)) == set()
    assert rules(asked, *visits, ("lift", 5, 9)) == {"resource"}


@pytest.mark.parametrize("times", [[], [(0, 3)], [(1, 5)], [(0, 4), (6, 7)]])
def test_a_visit_that_is_moved_is_told(times):
    asked = problem(activity("pipe", fixed=(0, 4)))

    assert "fixed" in rules(asked, *(("pipe", *time) for time in times))


@pytest.mark.parametrize(("kind", "earliest"), [("FS", 17), ("SS", 13), ("FF", 13), ("SF", 9)])
def test_each_kind_of_link_compares_its_own_ends(kind, earliest):
    asked = problem(activity("a"), activity("b"), links=(Link("a", "b", kind, min_lag=3),))

    assert rules(asked, ("a", 10, 14), ("b", earliest, earliest + 4)) == set()
    assert rules(asked, ("a", 10, 14), ("b", earliest - 1, earliest + 3)) == {"link"}


def test_a_working_wait_counts_only_working_time():
    asked = problem(
        activity("a"),
        activity("b"),
        links=(Link("a", "b", min_lag=3, clock="working"),),
        calendars=(Calendar("mar", "no_working_time", "", ((0, 6), (20, 30))),),
        working_calendar="mar",
    )

    assert rules(asked, ("a", 0, 4), ("b", 21, 25)) == set()
    assert rules(asked, ("a", 0, 4), ("b", 20, 24)) == {"link"}


def test_an_order_is_kept_outside_working_time_too():
    asked = problem(
        activity("a"),
        activity("b"),
        links=(Link("a", "b", clock="working"),),
        calendars=(Calendar("mar", "no_working_time", "", ()),),
        working_calendar="mar",
    )

    assert rules(asked, ("a", 0, 4), ("b", 3, 7)) == {"link"}


def test_a_longest_wait_may_be_missed_only_if_it_is_told():
    link = Link("a", "b", max_lag=2)
    asked = problem(activity("a"), activity("b"), links=(link,))
    stints = [("a", 0, 4), ("b", 9, 13)]

    assert rules(asked, *stints) == {"unready"}
    assert rules(asked, *stints, unready=[(link, 2)]) == {"unready"}
    assert rules(asked, *stints, unready=[(link, 3)]) == set()


def test_a_visit_that_is_not_ready_is_told_with_what_is_short():
    link = Link("a", "pipe", min_lag=1)
    asked = problem(activity("a"), activity("pipe", fixed=(2, 6)), links=(link,))
    stints = [("a", 0, 4), ("pipe", 2, 6)]

    assert rules(asked, *stints) == {"unready"}
    assert rules(asked, *stints, unready=[(link, 3)]) == set()


def test_telling_of_a_link_that_is_kept_is_told():
    link = Link("a", "b")
    asked = problem(activity("a"), activity("b"), links=(link,))
    stints = [("a", 0, 4), ("b", 4, 8)]

    assert rules(asked, *stints, unready=[(link, 1)]) == {"unready"}
    assert rules(asked, *stints, unready=[(link, 0)]) == {"unready"}


def test_telling_of_a_broken_link_twice_is_told():
    link = Link("a", "b", max_lag=2)
    asked = problem(activity("a"), activity("b"), links=(link,))

    assert rules(asked, ("a", 0, 4), ("b", 9, 13), unready=[(link, 3), (link, 3)]) == {"unready"}


def test_nothing_is_placed_behind_what_has_no_place():
    asked = problem(activity("a"), activity("b"), links=(Link("a", "b", "SF"),))

    assert rules(asked, ("b", 9, 13), unplaced=[("a", 4)]) == {"link"}
    assert rules(asked, unplaced=[("a", 4), ("b", 4)]) == set()
    assert rules(asked, ("a", 0, 4), unplaced=[("b", 4)]) == set()


def test_a_visit_behind_what_has_no_place_lacks_the_time_to_the_horizon():
    link = Link("a", "pipe", min_lag=2)
    asked = problem(activity("a"), activity("pipe", fixed=(92, 96)), links=(link,))

    assert rules(asked, ("pipe", 92, 96), unplaced=[("a", 4)]) == {"unready"}
    assert rules(asked, ("pipe", 92, 96), unplaced=[("a", 4)], unready=[(link, 102)]) == set()


def test_a_task_that_is_dropped_in_silence_is_told():
    assert rules(problem(activity("a"))) == {"unplaced"}


@pytest.mark.parametrize(
    "unplaced", [[("a", 4)], [("a", 4), ("a", 4)], [("ghost", 4)], [("pipe", 4)]]
)
def test_a_false_list_of_what_has_no_place_is_told(unplaced):
    asked = problem(activity("a"), activity("pipe", fixed=(20, 24)))

    broken = rules(asked, ("a", 0, 4), ("pipe", 20, 24), unplaced=unplaced)

    assert broken == {"unplaced"}


def test_having_no_place_for_want_of_nothing_is_told():
    assert rules(problem(activity("a")), unplaced=[("a", 0)]) == {"unplaced"}


def test_a_stint_of_something_nobody_asked_for_is_told():
    assert rules(problem(activity("a")), ("a", 0, 4), ("ghost", 4, 8)) == {"unknown"}


@pytest.mark.parametrize(
    ("opens", "closes", "held"),
    [
        ("lift", "fix", [False, False, True, True, False]),
        (None, "fix", [True, True, True, True, False]),
        ("lift", None, [False, False, True, True, True]),
    ],
)
def test_nobody_stands_on_boards_that_are_up(opens, closes, held):
    asked = problem(
        activity("lift"),
        activity("fix"),
        activity("paint"),
        open_spans=(OpenSpan(opens, closes, ("paint",)),),
    )
    starts = [0, 16, 17, 43, 44]  # lift 20 to 24, fix 40 to 44

    told = [
        "open_span" in rules(asked, ("lift", 20, 24), ("fix", 40, 44), ("paint", at, at + 4))
        for at in starts
    ]

    assert told == held


def test_boards_that_are_never_lifted_hold_nobody_and_never_fixed_hold_for_good():
    asked = problem(
        activity("lift"),
        activity("fix"),
        activity("paint"),
        open_spans=(OpenSpan("lift", "fix", ("paint",)),),
    )

    unfixed = rules(asked, ("lift", 20, 24), ("paint", 100, 104), unplaced=[("fix", 4)])
    never = rules(asked, ("fix", 40, 44), ("paint", 30, 34), unplaced=[("lift", 4)])

    assert unfixed == {"open_span"}
    assert never == set()


def test_boards_fixed_before_they_are_lifted_are_not_up_in_between():
    asked = problem(
        activity("lift"),
        activity("fix"),
        activity("paint"),
        open_spans=(OpenSpan("lift", "fix", ("paint",)),),
    )

    assert rules(asked, ("fix", 0, 4), ("lift", 10, 14), ("paint", 2, 12)) == {"effort"}


@pytest.mark.parametrize(
    ("opens", "broken"), [(None, set()), ("seen", set()), ("lift", {"open_span"})]
)
def test_a_visit_on_open_boards_is_a_fact_unless_lifting_them_could_wait(opens, broken):
    asked = problem(
        activity("pipe", fixed=(8, 12)),
        activity("seen", fixed=(0, 4)),
        activity("lift"),
        open_spans=(OpenSpan(opens, None, ("pipe",)),),
    )

    assert rules(asked, ("pipe", 8, 12), ("seen", 0, 4), ("lift", 4, 8)) == broken
    assert rules(asked, ("pipe", 8, 12), ("seen", 0, 4), ("lift", 12, 16)) == set()


def test_a_circle_that_is_none_is_told():
    there, back, other = Link("a", "b"), Link("b", "a"), Link("a", "c")
    asked = problem(activity("a"), activity("b"), activity("c"), links=(there, back, other))
    none = solution(asked, unplaced=[("a", 4), ("b", 4), ("c", 4)])

    def told(*circle):
        return {broken.rule for broken in broken_rules(asked, replace(none, circles=(circle,)))}

    assert told(there, back) == set()
    assert told(there, other) == {"circle"}
    assert told() == {"circle"}
    assert told(there, replace(back, min_lag=1)) == {"circle"}


def test_work_of_one_piece_that_rests_or_is_cut_is_told():
    hours = (Calendar("day", "no_working_time", "", ((0, 4), (10, 20))),)
    cast = activity("cast", 6, mode="carried_on", calendars=("day",))
    soak = activity("soak", 6, mode="elapsed", calendars=("day",))

    assert rules(problem(cast, calendars=hours), ("cast", 0, 4), ("cast", 10, 12)) == set()
    assert rules(problem(cast, calendars=hours), ("cast", 0, 4), ("cast", 12, 14)) == {"carried_on"}
    assert rules(problem(soak, calendars=hours), ("soak", 3, 9)) == set()
    assert rules(problem(soak, calendars=hours), ("soak", 4, 10)) == {"calendar"}
    assert rules(problem(soak, calendars=hours), ("soak", 0, 3), ("soak", 10, 13)) == {"split"}


def test_work_that_leaves_its_one_window_is_told():
    hang = activity("hang", within="weekend")
    asked = problem(
        hang, calendars=(Calendar("weekend", "no_working_time", "", ((0, 8), (20, 28))),)
    )

    assert rules(asked, ("hang", 2, 6)) == set()
    assert rules(asked, ("hang", 2, 4), ("hang", 20, 22)) == {"within"}


def test_units_and_held_tools_are_counted():
    jack = (Resource("jack", "Jack", "tool", 3),)
    held = activity("held", holds=(Hold("jack", 20),))
    lift = activity("lift", uses=("jack",), demand=(3,))

    asked = problem(held, lift, resources=jack)

    assert rules(asked, ("held", 0, 4), ("lift", 20, 24)) == set()
    assert rules(asked, ("held", 0, 4), ("lift", 10, 14)) == {"resource"}


def test_calm_and_open_nights_are_measured():
    asked = problem(
        activity("lift"), activity("fix"), activity("kept"),
        previous=(Stint("lift", 4, 8), Stint("fix", 50, 54), Stint("kept", 60, 70, firm=False)),
        settled_until=20, route_openings=(RouteOpening("lift", "fix"),), nights=(2, 30, 60),
    )  # fmt: skip

    made = solution(asked, ("lift", 5, 7), ("lift", 8, 10), ("fix", 50, 54), ("kept", 66, 70))

    assert measured_levels(asked, made) == [0, 0, 0, 1, 70, 1, 1, 1]


def test_levels_are_measured_from_the_stints():
    asked = problem(
        activity("a", due=2, due_weight=3),
        activity("b", 5),
        activity("pipe", fixed=(20, 30)),
        activity("c"),
        links=(Link("c", "pipe"),),
    )
    made = solution(asked, ("a", 0, 4), ("pipe", 20, 30), ("c", 21, 25), unplaced=[("b", 5)])

    assert measured_levels(asked, made) == [5, 5, 6, 0, 25, 0, 0, 0]


@pytest.mark.parametrize("number", range(8))
def test_a_false_level_or_bound_is_told(number):
    asked = problem(activity("a", due=2), activity("b"))
    honest = solution(asked, ("a", 0, 4), unplaced=[("b", 4)])

    def told(**changed):
        levels = list(honest.levels)
        levels[number] = replace(levels[number], **changed)
        return [b.rule for b in broken_rules(asked, replace(honest, levels=tuple(levels)))]

    value = honest.levels[number].value
    assert told(value=value + 1) == ["level"]
    assert told(bound=value + 1) == ["level"]
    assert told(bound=value - 1) == []


def test_missing_levels_are_told():
    asked = problem(activity("a"))

    broken = broken_rules(asked, replace(solution(asked, ("a", 0, 4)), levels=()))

    assert [one.rule for one in broken] == ["level"]
