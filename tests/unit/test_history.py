"""The crew's own pace: nothing from nothing, the ratio from much, in between something between."""

from math import exp, log, sqrt

import numpy as np
import pytest

from apps.planning import pert
from apps.planning.history import (
    FARTHEST_RATIO,
    PRIOR_SCATTER,
    PRIOR_SCATTER_TASKS,
    PRIOR_TASKS,
    Finished,
    paces,
)
from apps.planning.pert import Estimate

SURE = Estimate(60, 60, 60)
USUAL = Estimate(90, 120, 180)


def pace(*minutes, kind="first_fix", estimate=SURE):
    return paces(Finished(kind, estimate, worked) for worked in minutes)[kind]


def test_no_record_is_no_pace():
    assert paces([]) == {}


def test_work_that_went_as_estimated_has_the_factor_one():
    assert pace(60, 60, 60).factor == pytest.approx(1)


def test_much_of_a_record_is_believed_as_it_is():
    much = pace(*[78] * 2000)

    assert much.factor == pytest.approx(1.3, rel=0.002)
    assert much.spread < 0.01


@pytest.mark.parametrize("count", [1, 4, 12])
def test_little_of_a_record_is_believed_in_part(count):
    # The posterior mean of a normal mean: n ȳ / (n + the prior's weight).
    found = pace(*[120] * count)

    assert found.factor == pytest.approx(2 ** (count / (count + PRIOR_TASKS)))
    assert 1 < found.low < found.factor < found.high


def test_more_of_the_same_is_believed_more():
    factors = [pace(*[120] * count).factor for count in range(1, 12)]

    assert factors == sorted(factors)


def test_the_spread_is_that_of_the_shrunk_mean():
    two = pace(60, 60 * exp(0.4))

    scatter = sqrt((PRIOR_SCATTER_TASKS * PRIOR_SCATTER**2 + 2 * 0.2**2) / 5)
    assert two.spread == pytest.approx(scatter * sqrt(2) / (2 + PRIOR_TASKS))


def test_each_kind_of_work_has_its_own():
    found = paces([Finished("floor", SURE, 60), Finished("damp", SURE, 90)])

    assert found["floor"].factor == pytest.approx(1)
    assert found["damp"].factor == pytest.approx(1.5 ** (1 / 5))


def test_a_crew_that_draws_from_its_own_estimates_has_the_factor_one():
    luck = np.random.default_rng(1)
    worked = pert.draw(Estimate(60, 120, 300), 3000, luck)

    assert pace(*worked, estimate=Estimate(60, 120, 300)).factor == pytest.approx(1, abs=0.02)


def test_a_slip_of_the_clock_does_not_carry_the_whole_kind():
    assert log(pace(1).factor) == pytest.approx(-log(FARTHEST_RATIO) / 5)


@pytest.mark.parametrize(
    ("worked", "sentence"),
    [
        ([90] * 40, "Your first-fix work takes 1.4 times your estimates (40 tasks)."),
        ([60], "Your first-fix work takes about what you estimate (1 task)."),
        ([30] * 40, "Your first-fix work takes 0.5 times your estimates (40 tasks)."),
    ],
)
def test_a_pace_is_said_in_a_sentence(worked, sentence):
    assert pace(*worked).sentence == sentence


def test_the_sums_are_told():
    found = pace(100, 140, estimate=USUAL)

    assert (found.minutes, found.expected_minutes) == (240, 250)
