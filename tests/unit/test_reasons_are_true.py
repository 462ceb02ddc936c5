"""Why not sooner, held against the checker: the reason is the first rule that breaks there.

The order of the rules is the one of the reference page; which of them break is found by the
checker, which knows nothing of the planner.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, given, settings

from apps.planning.problem import Stint
from apps.planning.reasons import explain
from apps.planning.solver import solve
from tests.checker import Plan, _expected_unready, measured_levels, placement_rules
from tests.strategies import houses

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "reasons.md"
ORDER = re.findall(r"^\| `(\w+)` \|", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
# Rules of the checker that have no code of their own: what they come to.
OWN = {"apart": "no_working_time", "carried_on": "no_working_time", "origin": "none"}


def hours(house, activity, *, basic):
    """Quarter-hours that are open to an activity; `basic`: on the calendars of bare hours only."""
    names = set(activity.calendars) | (
        {activity.within} if activity.within and not basic else set()
    )
    found = set(range(house.horizon))
    for calendar in house.calendars:
        if calendar.key in names and (not basic or calendar.code == "no_working_time"):
            found &= {quarter for window in calendar.windows for quarter in range(*window)}
    return found


def earlier_place(house, activity, stint):
    """The nearest earlier start in the basic hours; one quarter-hour earlier if there is none."""
    open_now = hours(house, activity, basic=True)
    # What runs on by itself or over the breaks only has to begin in its hours.
    length = stint.end - stint.start if activity.mode == "stints" else 1
    for start in range(stint.start - 1, -1, -1):
        if open_now.issuperset(range(start, start + length)):
            return start
    return stint.start - 1


def moved(house, activity, own, k, start):
    """An activity's stints with the k-th at another start; carried-on work follows its start."""
    stint = own[k]
    if activity.mode == "carried_on":
        effort = activity.set_up + activity.effort + activity.clear_up
        quarters = sorted(q for q in hours(house, activity, basic=False) if q >= start)[:effort]
        if len(quarters) == effort and quarters[0] == start:
            return [Stint(activity.key, *run) for run in runs(quarters)]
    return [
        *own[:k],
        replace(stint, start=start, end=start + stint.end - stint.start),
        *own[k + 1 :],
    ]


def runs(quarters):
    """Quarter-hours as stretches."""
    found = []
    for quarter in quarters:
        if found and found[-1][1] == quarter:
            found[-1][1] += 1
        else:
            found.append([quarter, quarter + 1])
    return found


def what_breaks(house, solution, others, own):
    """Codes of the rules that break with an activity's stints moved, its own overlap included."""
    plan = Plan(house, (*others, *apart(own)))
    was = _expected_unready(Plan(house, solution.stints))
    worse = {
        link.code for link, short in _expected_unready(plan).items() if short > was.get(link, 0)
    }
    # The effort is short where stints lie over each other; that is the overlap's fault.
    broken = [rule for rule in placement_rules(plan) if rule.rule not in {"effort", "shortest"}]
    overlap = {"no_working_time"} if len(apart(own)) < len(own) else set()
    return worse | overlap | {OWN.get(rule.rule, rule.code) for rule in broken}


def apart(own):
    """An activity's stints with those that lie over each other made one."""
    quarters = sorted({q for stint in own for q in range(stint.start, stint.end)})
    overlapping = len(quarters) < sum(stint.end - stint.start for stint in own)
    return [Stint(own[0].activity, *run) for run in runs(quarters)] if overlapping else own


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=50)
@given(houses(rich=True))
def test_the_reason_is_the_first_rule_that_breaks_one_place_earlier(house):
    solution = solve(house, deterministic_seconds=0.3)
    reasons = explain(house, solution, say=str)

    for activity in house.activities:
        own = [stint for stint in solution.stints if stint.activity == activity.key]
        others = [stint for stint in solution.stints if stint.activity != activity.key]
        for k, stint in enumerate(own if activity.fixed is None else ()):
            reason = reasons[stint]
            if k and activity.mode == "carried_on":
                assert reason.code == "no_working_time"
                continue
            place = earlier_place(house, activity, stint)
            there = moved(house, activity, own, k, place)
            broken = what_breaks(house, solution, others, there) if place >= 0 else {"none"}
            first = min(broken, key=ORDER.index, default=None)
            assert reason.by, (stint, reason)
            if first is not None:
                assert reason.code == first, (stint, reason, broken)
                continue
            before = measured_levels(house, solution)
            after = measured_levels(house, replace(solution, stints=(*others, *there)))
            # No rule breaks: more nights with boards up, or not where the last plan had it.
            assert after[5:] > before[5:], (stint, reason)
            assert reason.code == ("boards_held" if after[5] > before[5] else "none")
