"""The odds of a plan: chances as shares of runs, dates, and how both are said."""

import numpy as np
import pytest

from apps.planning import pert
from apps.planning.generator import generate
from apps.planning.odds import Asked, chance, in_words, odds, reached
from apps.planning.pert import Estimate
from apps.planning.problem import Ref
from apps.planning.run_hours import NEVER
from apps.planning.sampler import run
from tests.unit.plans import calendar, evenings, link, problem, say, task, visit

RUNS = 2000
ABOUT = Ref("visit", 1, "Pipes")


def asked(times, by=40, **changes):
    minutes = None if times is None else np.array(times, dtype=np.int64)
    given = {"clause": "the floor is open for the plumber", "say": say, **changes}
    return Asked(ABOUT, by=by, times=minutes, **given)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "less than 1 in 20"),
        (0.049, "less than 1 in 20"),
        (0.05, "1 in 10"),
        (0.34, "3 in 10"),
        (0.7, "7 in 10"),
        (0.75, "8 in 10"),
        (0.95, "9 in 10"),
        (0.951, "more than 19 in 20"),
        (1.0, "more than 19 in 20"),
    ],
)
def test_a_chance_is_said_no_finer_than_it_is_known(share, words):
    assert in_words(share) == words


def test_seven_runs_of_ten_are_seven_in_ten_and_the_date_is_told_when_four_in_five_is_later():
    found = odds(asked([500] * 7 + [700, 707, 900]))

    assert found.chance == 0.7
    assert found.by_80 == 47, "700 minutes are the end of a quarter-hour begun"
    assert found.sentence == (
        "7 in 10 that the floor is open for the plumber on day 1 10:00; 8 in 10 by day 1 11:45."
    )


def test_what_is_likely_needs_no_second_date():
    assert odds(asked([500] * 9 + [700])).sentence == (
        "9 in 10 that the floor is open for the plumber on day 1 10:00."
    )


def test_what_may_never_be_has_no_date():
    found = odds(asked([500] * 5 + [NEVER] * 5))

    assert (found.chance, found.by_80) == (0.5, None)
    assert found.sentence.endswith("; 8 in 10 only after the last day of this plan.")


def test_what_waits_for_nothing_is_sure_and_what_has_no_place_is_said_so():
    assert odds(asked(None)).chance == 1
    assert odds(asked(None)).sentence == "Nothing in the plan has to be done first for Pipes."
    assert odds(asked(None, by=None)).chance == 0
    assert odds(asked(None, by=None)).sentence == "Part of Pipes has no place in the plan."


def test_the_date_at_four_in_five_is_the_first_that_reaches_them():
    times = np.arange(1, 11) * 15

    assert [reached(times, percent) for percent in (10, 80, 81, 100)] == [1, 8, 9, 10]


def ready(estimate, starts):
    """The share of runs in which one task is done before a visit."""
    lift = task("lift", round(estimate.likely / 15), calendars=("crew",))
    plumber = visit("plumber", starts, starts + 4)
    house = problem(
        lift, plumber, links=[link(lift, plumber)], calendars=[calendar("crew", *evenings(9))]
    )
    plan = generate(house, [lift.key])
    work = np.rint(pert.draw(estimate, RUNS, pert.luck(1, lift.key)))
    return chance(run(house, plan, {lift.key: work}, RUNS).ready[plumber.key], starts * 15)


def test_an_even_chance_comes_out_as_about_five_in_ten():
    # Symmetrical about two hours; the visit begins two hours after the evening does.
    share = ready(Estimate(60, 120, 180), 74 + 8)

    assert share == pytest.approx(0.5, abs=0.03)
    assert in_words(share) == "5 in 10"


@pytest.mark.parametrize("share", [0.2, 0.8])
def test_shares_are_those_of_the_estimates_distribution(share):
    from scipy.stats import beta

    estimate = Estimate(60, 90, 150)
    at = 60 + 90 * beta.ppf(share, *pert.shapes(estimate))
    quarters = round(at / 15)
    exact = beta.cdf((quarters * 15 - 60) / 90, *pert.shapes(estimate))

    assert ready(estimate, 74 + quarters) == pytest.approx(exact, abs=0.03)


def test_more_spread_makes_what_was_likely_less_so():
    shares = [ready(Estimate(90 - w, 90, 90 + w), 74 + 8) for w in (0, 20, 50, 80)]

    assert shares == sorted(shares, reverse=True)
    assert shares[0] == 1
    assert shares[-1] < 0.95


def test_the_same_seed_has_the_same_luck_whatever_other_tasks_there_are():
    one, again = (pert.draw(Estimate(60, 90, 150), 5, pert.luck(1, "task:7")) for _ in range(2))
    other = pert.draw(Estimate(60, 90, 150), 5, pert.luck(1, "task:8"))

    assert one.tolist() == again.tolist()
    assert one.tolist() != other.tolist()
