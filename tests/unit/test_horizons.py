"""Long plans: the next weeks exactly, the rest to the half-day."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.horizons import LONG, NEAR, half_days, near_part, plan
from apps.planning.problem import Stint
from apps.planning.search import first_plan
from apps.planning.site import Site
from apps.planning.solver import solve
from tests.checker import violations
from tests.unit.plans import DAY, calendar, evenings, link, problem, release, task, values, visit

DAYS = 72


def a_long_house(*changed, tasks=26):
    """A chain of evenings' work with drying between, two visits, over ten weeks."""
    work = [task(f"T{n}", 6 + n % 5, calendars=("crew",), shortest_stint=2) for n in range(tasks)]
    work = [replace(one, key=f"task:{n}") for n, one in enumerate(work)]
    soon = visit("Soon", 10 * DAY + 40, 10 * DAY + 44)
    late = visit("Late", 50 * DAY + 40, 50 * DAY + 44)
    links = [
        link(a, b, lag=DAY * (n % 3)) for n, (a, b) in enumerate(zip(work, work[3:], strict=False))
    ]
    links += [link(work[2], soon), link(work[20], late)]
    work += changed
    return problem(
        *work, soon, late, links=links, horizon=DAYS * DAY,
        calendars=[calendar("crew", *evenings(DAYS))], working_calendar="crew",
    )  # fmt: skip


def test_a_short_house_is_one_question_to_the_exact_planner():
    asked = problem(
        task("Lath", 4, calendars=("crew",)), calendars=[calendar("crew", *evenings(3))]
    )

    assert plan(asked, deterministic_seconds=0.5) == solve(asked, deterministic_seconds=0.5)


def test_a_long_plan_keeps_every_rule_and_is_firm_for_three_weeks():
    asked = a_long_house()
    seen = []

    made = plan(asked, deterministic_seconds=0.1, on_first=seen.append)

    assert len(seen) == 1
    assert values(seen[0])["unplaced"] == 0
    assert violations(asked, seen[0]) == []
    assert violations(asked, made) == []
    fixed = {a.key for a in asked.activities if a.fixed is not None}
    for stint in made.stints:
        assert stint.firm == (stint.start < NEAR or stint.activity in fixed)
    assert [level.value for level in made.levels] <= [level.value for level in seen[0].levels]


def test_a_long_plan_made_again_with_nothing_changed_is_the_same():
    asked = a_long_house()
    first = plan(asked, deterministic_seconds=0.1)

    again = plan(replace(asked, previous=first.stints), deterministic_seconds=0.1)

    assert values(again)["moved"] == 0


def test_of_a_long_plan_made_again_only_what_must_moves_far_ahead():
    asked = a_long_house()
    before = plan(asked, deterministic_seconds=0.1)
    longer = next(stint.activity for stint in before.stints if not stint.firm)
    activities = tuple(
        replace(one, effort=one.effort + 2) if one.key == longer else one
        for one in asked.activities
    )

    again = plan(
        replace(asked, activities=activities, previous=before.stints), deterministic_seconds=0.1
    )

    assert values(again)["unplaced"] == 0
    assert values(again)["moved"] <= 1


def test_the_near_part_has_what_lies_behind_as_its_bounds():
    asked = a_long_house()
    draft = first_plan(Site(asked))

    part = near_part(draft, NEAR)

    movable = {a.key for a in part.activities if a.fixed is None}
    assert part.horizon == NEAR
    assert 0 < len(movable) < 26
    for one in asked.links:
        if one.before in movable and one.after not in movable and not one.after.startswith("visit"):
            near = next(a for a in part.activities if a.key == one.before)
            behind = draft.start(draft.site.index[one.after])
            assert any(
                calendar.windows[-1][1] <= behind - one.min_lag or calendar.windows[-1][1] <= NEAR
                for calendar in part.calendars
                if calendar.key in near.calendars
            )


@settings(max_examples=4, deadline=None)
@given(st.integers(21, 26), st.integers(1, 9), st.integers(0, 60))
def test_long_plans_with_work_of_one_piece_keep_every_rule(count, effort, start):
    cast = task(
        "Cast",
        effort + 10,
        mode="carried_on",
        calendars=("crew",),
        releases=(release(start * DAY),),
    )
    asked = a_long_house(cast, tasks=count)

    assert violations(asked, plan(asked, deterministic_seconds=0.02)) == []


def test_what_is_far_is_shown_by_the_half_days_of_the_crew():
    hours = calendar("crew", (74, 84), (NEAR + 40, NEAR + 72), (NEAR + 200, NEAR + 210))
    asked = problem(
        task("a", 4), horizon=LONG + 1, calendars=[hours], working_calendar="crew"
    )  # fmt: skip
    stints = (
        Stint("task:a", 76, 80), Stint("task:a", NEAR + 44, NEAR + 48),
        Stint("task:a", NEAR + 50, NEAR + 60), Stint("task:a", NEAR + 202, NEAR + 204),
    )  # fmt: skip

    shown = [(s.start, s.end, s.firm) for s in half_days(asked, stints, 0)]

    assert shown == [
        (76, 80, True),
        (NEAR + 40, NEAR + 56, False),
        (NEAR + 40, NEAR + 72, False),
        (NEAR + 200, NEAR + 210, False),
    ]
