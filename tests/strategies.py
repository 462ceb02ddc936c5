"""Random small houses for the planner, with every feature of the contract in play.

Days are short and numbers small, so that rules bite: things collide, do not fit, come too
late, go in circles. Times are quarter-hours.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from hypothesis import strategies as st

from apps.planning.problem import (
    Activity,
    Calendar,
    Hold,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
    RouteOpening,
    Stint,
)

ORIGIN = datetime(2026, 6, 1, tzinfo=UTC)
CALENDAR_CODES = ["no_working_time", "helper_away", "quiet_hours"]
RELEASE_CODES = ["not_before", "supply", "timber_wet", "notice"]
USES = [(), ("crew",), ("crew",), ("crew", "saw"), ("saw",), ("plumber",), ("crew", "plumber")]
LINK_CODES = ["predecessor", "drying", "visit", "sign_off", "boards_held"]


@st.composite
def houses(draw, max_activities: int = 8, max_horizon: int = 160, rich: bool = False) -> Problem:
    """A problem of up to 8 activities over up to 40 hours.

    `rich` adds what the product asks for seldom: work of one piece, several units of a tool,
    held tools, all within one window, household routes and settled work.
    """
    horizon = draw(st.integers(24, max_horizon))
    calendars = (
        _calendar(draw, "crew", "no_working_time", horizon),
        *(
            _calendar(draw, f"calendar:{n}", draw(st.sampled_from(CALENDAR_CODES)), horizon)
            for n in range(draw(st.integers(0, 2)))
        ),
    )
    resources = (
        Resource("crew", "Mar", "crew"),
        Resource("saw", "Saw", "tool", capacity=draw(st.integers(1, 2))),
        Resource("plumber", "Plumber", "trade"),
    )
    activities = tuple(
        _enriched(draw, _activity(draw, number, horizon, calendars), calendars, rich)
        for number in range(1, draw(st.sampled_from(range(1, max_activities + 1))) + 1)
    )
    return Problem(
        origin=ORIGIN,
        horizon=horizon,
        activities=activities,
        links=_links(draw, activities),
        calendars=calendars,
        resources=resources,
        open_spans=_open_spans(draw, activities),
        working_calendar="crew",
        previous=_previous(draw, activities, horizon),
        **(_calm(draw, activities, horizon) if rich else {}),
    )


def _enriched(draw, activity, calendars, rich) -> Activity:
    """The activity with one or two of the rarer features, or as it is."""
    if not rich or activity.fixed is not None:
        return activity
    changes: dict = {}
    if draw(st.booleans()):
        changes["mode"] = draw(st.sampled_from(["carried_on", "elapsed"]))
    if draw(st.integers(0, 2)) == 0:
        changes["within"] = draw(st.sampled_from(calendars)).key
    if draw(st.integers(0, 2)) == 0:
        changes["holds"] = (Hold("saw", draw(st.integers(1, 20))),)
    if "saw" in activity.uses and draw(st.booleans()):
        changes["demand"] = tuple(2 if name == "saw" else 1 for name in activity.uses)
    return replace(activity, **changes)


def _calm(draw, activities, horizon) -> dict:
    keys = st.none() | st.sampled_from([activity.key for activity in activities])
    return {
        "settled_until": draw(st.integers(0, horizon // 2)),
        "route_openings": tuple(
            draw(st.lists(st.builds(RouteOpening, keys, keys), max_size=2, unique=True))
        ),
        "nights": tuple(range(draw(st.integers(0, 30)), horizon, 24)),
    }


def _calendar(draw, key, code, horizon) -> Calendar:
    """Up to six windows; often whole days, now and then nothing at all."""
    edges = draw(
        st.lists(st.integers(0, horizon), unique=True, max_size=12).map(sorted)
        | st.just([0, horizon])
    )
    edges = edges[: len(edges) // 2 * 2]
    windows = tuple(zip(edges[::2], edges[1::2], strict=True))
    return Calendar(key, code, f"{key} is closed.", windows)


def _activity(draw, number, horizon, calendars) -> Activity:
    key = f"task:{number}"
    uses = draw(st.sampled_from(USES))
    if draw(st.integers(0, 4)) == 0:
        start = draw(st.integers(-6, horizon + 2))
        length = draw(st.integers(1, 12))
        return Activity(
            key,
            Ref("visit", number, f"Visit {number}"),
            effort=length,
            uses=uses,
            due=draw(st.none() | st.integers(0, horizon)),
            fixed=(start, start + length),
        )
    set_ups = st.sampled_from([0, 0, 0, 1, 2])
    releases = st.builds(
        Release,
        st.integers(-4, horizon),
        st.sampled_from(RELEASE_CODES),
        st.just("Not before then."),
    )
    return Activity(
        key,
        Ref("task", number, f"Task {number}"),
        effort=draw(st.integers(1, 12)),
        uses=uses,
        calendars=tuple(
            calendar.key for calendar in calendars if draw(st.sampled_from([True, True, False]))
        ),
        splittable=draw(st.booleans()),
        shortest_stint=draw(st.integers(1, 4)),
        set_up=draw(set_ups),
        clear_up=draw(set_ups),
        releases=tuple(draw(st.lists(releases, max_size=2))),
        due=draw(st.none() | st.integers(0, horizon)),
        due_weight=draw(st.integers(1, 3)),
    )


def _links(draw, activities) -> tuple[Link, ...]:
    if len(activities) < 2:
        return ()
    keys = [activity.key for activity in activities]
    pairs = draw(
        st.lists(
            st.tuples(st.sampled_from(keys), st.sampled_from(keys)).filter(
                lambda pair: pair[0] != pair[1]
            ),
            unique=True,
            max_size=len(keys) + 2,
        )
    )
    if draw(st.integers(0, 3)):  # mostly without circles
        pairs = sorted({(min(pair), max(pair)) for pair in pairs})
    return tuple(_link(draw, before, after) for before, after in pairs)


def _link(draw, before, after) -> Link:
    min_lag = draw(st.sampled_from([0, 0, 0, 1, 3, 8]))
    return Link(
        before,
        after,
        kind=draw(st.sampled_from(["FS", "FS", "FS", "SS", "FF", "SF"])),
        min_lag=min_lag,
        max_lag=draw(st.none() | st.integers(min_lag, min_lag + 10)),
        clock=draw(st.sampled_from(["elapsed", "elapsed", "working"])),
        code=draw(st.sampled_from(LINK_CODES)),
        reason="One before the other.",
    )


def _open_spans(draw, activities) -> tuple[OpenSpan, ...]:
    keys = [activity.key for activity in activities]
    spans = []
    for _ in range(draw(st.integers(0, 2))):
        opens, closes = (draw(st.none() | st.sampled_from(keys)) for _ in range(2))
        others = [key for key in keys if key not in (opens, closes)]
        if others:
            excludes = draw(st.sets(st.sampled_from(others), min_size=1, max_size=3).map(sorted))
            spans.append(OpenSpan(opens, closes, tuple(excludes), "Boards are up."))
    return tuple(spans)


def _previous(draw, activities, horizon) -> tuple[Stint, ...]:
    """What is left of the plan before: partly outdated, partly about tasks that are gone."""
    keys = [*(activity.key for activity in activities), "task:gone"]
    return tuple(
        Stint(draw(st.sampled_from(keys)), start, start + draw(st.integers(1, 12)))
        for start in draw(st.lists(st.integers(-8, horizon), max_size=4))
    )
