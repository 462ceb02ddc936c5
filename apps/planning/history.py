"""The crew's own record: how long its work really took against what it had estimated.

For a finished task, r is the minutes worked over the minutes expected, where expected is the
PERT mean of its three-point estimate. Durations err by factors, not by minutes, so the
arithmetic is on y = ln r. A task drawn from its own estimate has a mean of ln r a little below
0, by about half its relative variance; y is corrected by that, so that a crew which keeps its
estimates has a factor of 1.

For one kind of work with n tasks, scatter s² and a prior of `PRIOR_TASKS` tasks that went
exactly as estimated:

    ln factor = Σ y / (n + PRIOR_TASKS)
    spread of ln factor = s √n / (n + PRIOR_TASKS)

That is the posterior mean of a normal mean with a normal prior around 0 whose weight is
`PRIOR_TASKS` observations (Gelman et al., "Bayesian data analysis", 3rd ed., section 2.5), and the
sampling error of that estimator. Nothing recorded: factor 1 and no spread, so that what the
person said of a task stands as it is. Much recorded: the ratio itself. The scatter s² is pooled
over the kinds, each around its own mean, with a prior of its own (scaled inverse χ², same
book, section 2.6). Both references from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, log, sqrt

from .pert import Estimate, mean, variance

# So many tasks "as estimated" are counted beside the recorded ones of each kind.
# A choice: no source.
PRIOR_TASKS = 4.0
# The scatter of ln r before anything is recorded, and how many tasks that guess counts.
# A choice: no source.
PRIOR_SCATTER = 0.35
# A choice: no source.
PRIOR_SCATTER_TASKS = 4.0
# A task counts as at most so many times its estimate, or one part of so many: time that was
# noted wrongly or not at all must not carry the whole kind.
# A choice: no source.
FARTHEST_RATIO = 4.0
# The middle 80 % of a normal distribution lies within so many standard deviations.
EIGHTY_PCT = 1.2816


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished task of the crew: its kind of work, what was estimated, minutes worked (> 0)."""

    kind: str
    estimate: Estimate
    minutes: float


@dataclass(frozen=True, slots=True)
class Pace:
    """How the crew's work of one kind goes against its estimates.

    Attributes:
        factor: what to multiply an estimate by; above 1 it takes longer than said.
        spread: standard deviation of the factor's logarithm.
        tasks: finished tasks it rests on.
        minutes, expected_minutes: worked on these altogether, and expected for them.
    """

    kind: str
    factor: float
    spread: float
    tasks: int
    minutes: float
    expected_minutes: float

    @property
    def low(self) -> float:
        """One in ten that the factor is below."""
        return self.factor * exp(-EIGHTY_PCT * self.spread)

    @property
    def high(self) -> float:
        """One in ten that the factor is above."""
        return self.factor * exp(EIGHTY_PCT * self.spread)

    @property
    def sentence(self) -> str:
        """ "Your first-fix work takes 1.3 times your estimates (7 tasks)." """
        return pace_sentence(self)


def paces(finished: Iterable[Finished]) -> dict[str, Pace]:
    """One pace for each kind of work that has a finished task, by kind."""
    by_kind: dict[str, list[Finished]] = {}
    for task in finished:
        by_kind.setdefault(task.kind, []).append(task)
    errors = {kind: [log_error(task) for task in tasks] for kind, tasks in by_kind.items()}
    s = pooled_scatter(errors.values())
    return {
        kind: Pace(
            kind,
            factor=exp(sum(errors[kind]) / (len(tasks) + PRIOR_TASKS)),
            spread=s * sqrt(len(tasks)) / (len(tasks) + PRIOR_TASKS),
            tasks=len(tasks),
            minutes=sum(task.minutes for task in tasks),
            expected_minutes=sum(mean(task.estimate) for task in tasks),
        )
        for kind, tasks in sorted(by_kind.items())
    }


def log_error(task: Finished) -> float:
    """ln of worked over expected, corrected for the estimate's own spread and kept in bounds."""
    expected = mean(task.estimate)
    own = variance(task.estimate) / (2 * expected**2)
    farthest = log(FARTHEST_RATIO)
    return max(-farthest, min(farthest, log(task.minutes / expected) + own))


def pooled_scatter(groups: Iterable[list[float]]) -> float:
    """The standard deviation of single tasks around the mean of their kind."""
    squares, freedom = PRIOR_SCATTER_TASKS * PRIOR_SCATTER**2, PRIOR_SCATTER_TASKS
    for errors in groups:
        middle = sum(errors) / len(errors)
        squares += sum((error - middle) ** 2 for error in errors)
        freedom += len(errors) - 1
    return sqrt(squares / freedom)


def pace_sentence(pace: Pace) -> str:
    work = f"Your {kind_in_words(pace.kind)} work"
    record = f"({pace.tasks} {'task' if pace.tasks == 1 else 'tasks'})"
    if abs(pace.factor - 1) < 0.05:
        return f"{work} takes about what you estimate {record}."
    return f"{work} takes {pace.factor:.1f} times your estimates {record}."


def kind_in_words(kind: str) -> str:
    """ "first-fix" for `first_fix`, as it stands before "work"."""
    return kind.replace("_", "-")
