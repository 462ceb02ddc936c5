"""From a house's rows to the planner's question."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from apps.planning.floor_order import FloorOrder, order_floor
from apps.planning.loading import order as orders
from apps.planning.loading.activities import (
    crew_tasks,
    inspection_activities,
    trade_tasks,
    visit_activities,
)
from apps.planning.loading.hours import CREW, house_calendars, resources
from apps.planning.loading.house import QUARTERS_A_DAY, House, activity_keys
from apps.planning.loading.routes import route_openings
from apps.planning.loading.waits import unanswered
from apps.planning.models import Plan
from apps.planning.problem import Problem, Stint


@dataclass(frozen=True)
class Question:
    """The planner's question, with what the alerts need beside it."""

    house: House
    problem: Problem
    order: FloorOrder
    aliases: dict[str, str]


def question(house: House, *, previous: Plan | None) -> Question:
    """The planner's question about a house."""
    aliases = activity_keys(house)
    order = order_floor(
        orders.floor_tasks(house, aliases),
        orders.open_needs(house, aliases),
        marks={pk: board.mark for pk, board in house.boards.items()},
        open_now=frozenset(
            pk for pk, board in house.boards.items() if board.state in {"up", "missing"}
        ),
        before=orders.own_order(house, aliases),
        never=house.horizon,
    )
    unsaid = unanswered(house)
    activities = [
        *crew_tasks(house, aliases, order, unsaid),
        *trade_tasks(house, aliases, order, unsaid),
        *visit_activities(house, unsaid),
        *inspection_activities(house),
    ]
    keys = {activity.key for activity in activities}
    links = [
        link
        for link in (
            *orders.own_links(house, aliases),
            *orders.hold_points(house, aliases),
            *order.links,
        )
        if link.before in keys and link.after in keys and link.before != link.after
    ]
    problem = Problem(
        origin=house.clock.origin,
        horizon=house.horizon,
        activities=tuple(activities),
        links=tuple(dict.fromkeys(links)),
        calendars=tuple(house_calendars(house)),
        resources=resources(house),
        open_spans=tuple(
            span
            for span in order.open_spans
            if {span.opens, span.closes, *span.excludes} - {None} <= keys
        ),
        working_calendar=CREW,
        previous=previous_stints(house, previous, keys),
        settled_until=house.now + QUARTERS_A_DAY,
        route_openings=tuple(
            opening
            for opening in route_openings(house, aliases)
            if {opening.opens, opening.closes} - {None} <= keys
        ),
        nights=tuple(
            house.clock.midnight(house.clock.on(0) + timedelta(days=night))
            for night in range(1, house.axis_days)
        ),
    )
    return Question(house, problem, order, aliases)


def previous_stints(house: House, previous: Plan | None, keys: set[str]) -> tuple[Stint, ...]:
    """The last plan's stints that still lie ahead, for ties."""
    if previous is None:
        return ()
    found = []
    for row in previous.stints.all():
        key = stint_key(row)
        start, end = house.clock.floor(row.starts), house.clock.ceil(row.ends)
        if key in keys and house.now <= start and end <= house.horizon:
            found.append(Stint(key, start, end, firm=row.firm))
    return tuple(found)


def stint_key(row: Any) -> str:
    """The activity a stored stint belongs to."""
    if row.task_id:
        return f"task:{row.task_id}"
    return f"visit:{row.visit_id}" if row.visit_id else f"inspection:{row.inspection_id}"
