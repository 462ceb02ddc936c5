"""What is bought is a whole number of the yard's steps: bound and plan of one seeded pile.

The pile is `tests.benchmarks.cutting_speed.salvage(3)`. The clock is a counter, so that how
fast the machine is does not decide.
"""

from itertools import count

import pytest

from apps.timber.cutting.bought import step_mm
from apps.timber.cutting.components import split
from apps.timber.cutting.problem import Bin, CuttingProblem, Part
from apps.timber.cutting.work import Work
from apps.timber.cutting.worker import Job, work_off
from tests.benchmarks.cutting_speed import salvage
from tests.unit.cutting_stories import stock

LINEAR_BOUND = 37_770
"""The plain linear programme of this pile, rounded up; it buys 19,477 mm, no multiple of 600."""


@pytest.fixture(scope="module")
def cost():
    components = split(salvage(3)).components
    ticks = count()
    job = Job(
        components=components, plans=({},) * len(components), names=("unmet", "cost"), end=3.0,
        seed=0,
    )  # fmt: skip
    (found,) = work_off(job, now=lambda: next(ticks) / 100)
    return found.levels[1]


def test_the_bound_knows_that_lengths_are_bought_whole(cost):
    assert cost.bound > LINEAR_BOUND + 150


def test_a_pile_is_cut_to_within_half_a_per_cent_of_the_bound(cost):
    assert cost.bound <= cost.value <= cost.bound * 1.005


def work_on(*bins):
    problem = CuttingProblem(parts=(Part(key="p", length_mm=900, quantity=9),), bins=bins)
    return Work(split(problem).components[0], seed=0, now=lambda: 0.0)


def test_the_step_is_what_all_lengths_sold_are_multiples_of():
    assert step_mm(work_on(*stock(2400, 3000, 4200))) == 600


def test_lengths_of_salvaged_runs_do_not_count_for_the_step():
    run = Bin(key="run", length_mm=1234, cost=200)
    assert step_mm(work_on(*stock(2400, 3000), run)) == 600


def test_one_length_alone_has_no_step_that_says_anything_new():
    assert step_mm(work_on(*stock(2400))) == 0
