"""How much is bought: a bound and aims from the yard's lengths being multiples of one step.

The linear programme buys 15,394 mm, say, where the yard sells 2,400, 3,000, 3,600 and 4,800:
every plan buys a multiple of 600, at most 15,000 or at least 15,600. The programme is solved
again with either, and no plan is below the less dear of the two. Its value is convex in how
much is bought, so multiples further off are dearer still. Where one side is no better than the
best plan, the other is what every better plan must keep to.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import floor, gcd

from apps.timber.cutting.work import Work

NEXT_ONES = 2
"""So many multiples above the linear programme's are aimed at too."""


@dataclass(frozen=True, slots=True)
class Aim:
    """Between how many mm a plan is to buy (None: no end), and a bound of what it costs then."""

    least: int | None
    most: int
    bound: int

    def better(self, work: Work, level: int) -> bool:
        """Whether the best plan buys more, and a plan that keeps to this could be better."""
        bought = sum(work.master.bought[kind] * count for (kind, _), count in work.plan.items())
        return self.bound < work.below(level) and self.most < bought


def step_mm(work: Work) -> int:
    """What all the lengths bought are multiples of; 0 where that says nothing new."""
    step = gcd(*work.master.bought)
    return step if step > 1 and len(work.component.kinds) > 1 else 0


def aims(work: Work, level: int, generate: Callable[[], int]) -> list[Aim]:
    """The ways to buy that could still give a better plan; empty where buying is whole already.

    `generate` solves the programme as it is restricted and says its bound. The bounds of the
    first two aims hold for all plans together: none is below both.
    """
    master, step = work.master, step_mm(work)
    if level != master.levels - 4 or not step:
        return []
    amounts = master.amounts
    bought = float(master.charge[: len(amounts), master.most] @ amounts)
    low = floor(bought / step + 1e-6) * step
    if bought - low < 1e-6 * step:
        return []
    found: list[Aim] = []
    for least, most in [(None, low)] + [(low + n * step, None) for n in range(1, 2 + NEXT_ONES)]:
        master.buy(least, most)
        found.append(Aim(least, low if least is None else least, generate()))
        if found[-1].bound >= work.below(level) and least is not None:
            break
    master.buy(None, None)
    return found
