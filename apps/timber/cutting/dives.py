"""Plans from the linear programme: dives, and a few bins of a plan cut anew.

A dive fixes what the programme gives whole, else what is nearest to it, prices what is left,
and so on. Where it gives up it goes back a few bins and tries again from there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from apps.timber.cutting.bought import Aim
from apps.timber.cutting.master import Counts
from apps.timber.cutting.plans import Use, trimmed
from apps.timber.cutting.work import Left, Work

AT_ONCE = 25
"""A dive fixes about this fraction (1 / AT_ONCE) of the bins between two looks."""
NOISE = 0.5
"""How much a dive that is not the first shakes the order."""
BACK = 40
"""An aimed dive that gives up goes back to where so many parts were left (tried: 25 to 60)."""
BACK_TIMES = 3
"""So many times."""
STRAIGHT = 0.5
"""So often it does not: some piles give way only to the whole-number programme."""
FINISHED_WHOLE = (32, 44)
"""Then so many parts are cut together by that programme, the second where it went straight to
it (tried: 30 to 45)."""
BIAS = 0.3
"""The smaller, the more often bins that leave much are taken up."""
A_MOMENT = 0.25
"""Seconds for the programme over a few bins."""


def dive(
    work: Work, level: int, goal: int, noise: float, until: float, keep: Sequence[Use] = ()
) -> Left:
    """Fix patterns bit by bit, after `keep`; give up as soon as nothing better can come of it.

    Returns what was fixed and what is left.
    """
    left = work.everything()
    work.fix(left, level, [(use, 1) for use in keep])
    stuck = False
    while left.demand.any() and not stuck and work.price_rest(level, goal, left, until):
        took = _round(work, left.demand.copy(), left.supply.copy(), noise)
        work.fix(left, level, took)
        stuck = not took
    if stuck or not left.demand.any():
        work.offer(trimmed(work.component, left.fixed))
    work.release()
    return left


def aimed_dive(work: Work, level: int, goal: int, aim: Aim, until: float) -> None:
    """A dive that buys as much as the aim says. Where it gives up, its last bins are taken back,
    to dive again from there and at last to cut what is left as well as can be."""
    before = work.master.kept.get(work.master.least)
    work.master.buy(aim.least, aim.most)
    left = dive(work, level, goal, NOISE, until)
    straight = work.random.random() < STRAIGHT
    for _ in range(0 if straight else BACK_TIMES):
        if left.demand.any() and work.now() < until:
            left = dive(work, level, goal, NOISE, until, _gone_back(left, BACK))
    if left.demand.any() and work.now() < until:
        parts = FINISHED_WHOLE[straight]
        _fill(work, level, _gone_back(left, parts), until)
    work.master.buy(None if before is None else -before, None)


def _gone_back(left: Left, parts: int) -> list[Use]:
    """What was fixed first, so that about so many parts are left."""
    keep = [use for use, count in left.fixed for _ in range(count)]
    count = int(left.demand.sum())
    while keep and count < parts:
        count += sum(copies for _, copies in keep.pop()[1])
    return keep


def _round(work: Work, demand: Counts, supply: Counts, noise: float) -> list[tuple[Use, int]]:
    """Choose patterns to fix: whole ones, else those nearest to it."""
    master = work.master
    amounts = master.amounts
    took: list[tuple[Use, int]] = []

    def take(column: int, most: int) -> int:
        count = 0
        row, kind = master.matrix[column], master.kind_of[column]
        while count < most and supply[kind] > 0 and (row <= demand).all():
            demand[:] -= row
            supply[kind] -= 1
            count += 1
        if count:
            took.append((master.uses[column], count))
        return count

    whole = np.floor(amounts + 1e-6)
    for column in np.nonzero(whole >= 1)[0].tolist():
        take(column, int(whole[column]))
    if took:
        return took
    parts = amounts - whole
    score = parts * (1 + noise * work.random.random(len(parts)))
    wanted, count = max(1, int(amounts.sum() / AT_ONCE)), 0
    for column in np.argsort(-score)[: 3 * wanted].tolist():
        if parts[column] < 1e-6 or (count >= wanted and parts[column] < 0.8):
            break
        count += take(column, 1)
    return took


def again(work: Work, level: int, parts: int, until: float) -> bool:
    """Take up a few bins of the plan and fill them anew as well as can be; whether it helped."""
    work.master.add(work.plan)
    bins = [use for use, count in work.plan.items() for _ in range(count)]
    rest = np.array([_rest(work, use) for use in bins])
    # Bins that come out even are left alone more often than those that leave much.
    chance = work.random.random(len(bins)) ** (1.0 / (BIAS + rest / max(1.0, rest.mean())))
    order = np.argsort(chance).tolist()
    count = 0
    while order and count < parts:
        count += sum(copies for _, copies in bins[order.pop()][1])
    return _fill(work, level, [bins[number] for number in order], until)


def _rest(work: Work, use: Use) -> int:
    """What cutting leaves of the room of one bin."""
    kind, cut = use
    items = work.component.items
    return work.component.kinds[kind].room - sum(items[i].size * copies for i, copies in cut)


def _fill(work: Work, level: int, keep: list[Use], until: float) -> bool:
    """Keep these bins and cut the rest by a whole-number programme; whether it helped."""
    master = work.master
    left = work.everything()
    work.fix(left, level, [(use, 1) for use in keep])
    before = work.value
    if work.price_rest(level, -(10**15), left, until):
        at_most = work.below(level) - 1 - left.spent
        fits = (master.matrix[: master.count] <= left.demand).all(axis=1)
        fits &= left.supply[master.kind_of[: master.count]] > 0
        # What costs more than there is to spare, at these duals, is in no better plan.
        fits &= master.reduced <= at_most - master.objective + 1e-6
        found, _ = master.whole(
            np.nonzero(fits)[0].tolist(), at_most, min(A_MOMENT, 0.8 * (until - work.now()))
        )
        if found is not None:
            work.offer(trimmed(work.component, [*left.fixed, *found]))
    work.release()
    return work.value < before
