"""The problem read backward in time, to see how late everything could be.

Building the mirrored problem places work as late as it may be; its order, turned round
again, tells the generator what is urgent (forward-backward improvement, Li and Willis 1992,
from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .problem import Activity, Calendar, Interval, Link, OpenSpan, Problem, Release

MIRRORED_KIND = {"FS": "FS", "SS": "FF", "FF": "SS", "SF": "SF"}


def mirror(problem: Problem) -> Problem:
    """The same question with time running backward from the horizon.

    Due dates become releases; releases are left out, for work may end as early as it likes.
    Holds, and the hours in which elapsed work begins, are left out too: only an order is asked.
    """
    horizon = problem.horizon

    def turned(windows: Sequence[Interval]) -> tuple[Interval, ...]:
        return tuple((horizon - end, horizon - start) for start, end in reversed(windows))

    def activity(one: Activity) -> Activity:
        due = () if one.due is None else (Release(horizon - one.due, "not_before", ""),)
        return replace(
            one,
            set_up=one.clear_up,
            clear_up=one.set_up,
            releases=due,
            due=None,
            holds=(),
            calendars=() if one.mode == "elapsed" else one.calendars,
            within=None if one.mode == "elapsed" else one.within,
            fixed=None if one.fixed is None else turned([one.fixed])[0],
        )

    def link(one: Link) -> Link:
        return replace(
            one,
            before=one.after,
            after=one.before,
            kind=MIRRORED_KIND[one.kind],  # type: ignore[arg-type]
        )

    def calendar(one: Calendar) -> Calendar:
        return replace(one, windows=turned(one.windows))

    def span(one: OpenSpan) -> OpenSpan:
        return replace(one, opens=one.closes, closes=one.opens)

    return replace(
        problem,
        activities=tuple(map(activity, problem.activities)),
        links=tuple(map(link, problem.links)),
        calendars=tuple(map(calendar, problem.calendars)),
        open_spans=tuple(map(span, problem.open_spans)),
        previous=(),
        route_openings=(),
    )
