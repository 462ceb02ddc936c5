"""The week as the page and the sheet show it: the planner's answers, put into reading order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from apps.pages.planner import latest_plan
from apps.pages.wording import entries, open_boards, plan_because, plan_sentence, way_back
from apps.planning import selectors
from apps.planning.floor_order import mark_key
from apps.planning.models import Person, Plan
from apps.planning.services import current_plan
from apps.planning.week import week
from apps.property.models import Property

ONE_WEEK = timedelta(days=7)
ALERTS_SHOWN = 4
"""So many at once, and every `stop`; the rest is one tap away, or today is far down a phone."""


def shown(house: Property, *, on: date, today: date, now: datetime) -> dict[str, Any]:
    """Everything the week page needs, for its template."""
    found = week(house, on=on, now=now)
    plan, latest = current_plan(house), latest_plan(house)
    floors = {floor.pk: floor.name for floor in house.floors.all()}
    people = [
        {"id": person.pk, "name": person.name}
        for person in Person.objects.filter(property=house).order_by("role", "pk")
    ]
    days = [day(row, today, floors, people) for row in found["days"]]
    monday = days[0]["date"]
    this_week = monday <= today < monday + ONE_WEEK
    alerts = selectors.alerts(house, now=now)
    stops = sum(alert["severity"] == "stop" for alert in alerts)
    odds = (plan.odds if plan else None) or {}
    return {
        "on": on,
        "today": today,
        "monday": monday,
        "sunday": days[-1]["date"],
        "number": int(found["week"][-2:]),
        "this_week": this_week,
        "earlier": monday - ONE_WEEK,
        "later": monday + ONE_WEEK,
        "plan": plan,
        "plan_sentence": plan_sentence(found["plan"], ZoneInfo(house.timezone)) if plan else "",
        "plan_because": plan_because(plan.because, str(plan.requested_by or "")) if plan else "",
        "pending": latest is not None and latest.state in {Plan.State.QUEUED, Plan.State.SOLVING},
        "failure": latest.failure if latest and latest.state == Plan.State.FAILED else "",
        "alerts": alerts[: max(ALERTS_SHOWN, stops)],
        "more_alerts": alerts[max(ALERTS_SHOWN, stops) :],
        "past_days": [row for row in days if this_week and row["date"] < today],
        "days": [row for row in days if not this_week or row["date"] >= today],
        "open_boards": open_boards(selectors.board_holds(house, now=now), floors),
        "misfits": misfits(plan),
        "clashes": plan.contradictions if plan else [],
        "moved": plan.changes if plan else [],
        "moved_sentence": plan.moved["sentence"] if plan and plan.moved else "",
        "finish_odds": odds.get("finish"),
        "package_odds": odds.get("packages", []),
    }


def day(
    row: dict[str, Any], today: date, floors: Mapping[int, str], people: list[dict[str, Any]]
) -> dict[str, Any]:
    return {
        "date": row["date"],
        "is_today": row["date"] == today,
        "people": people if row["date"] >= today else [],
        "hours": row["working_times"],
        "entries": entries(row),
        "boards": [
            *board_lines("Lift", row["boards"]["lift"], floors),
            *board_lines("Fix", row["boards"]["fix"], floors),
            *to_lay(row["tonight"]),
        ],
        "cut_ways": [
            {"name": night["route"]["name"], "way_back": way_back(night)}
            for night in row["tonight"]
            if not night["holds"]
        ],
        "ways_hold": bool(row["tonight"]) and all(night["holds"] for night in row["tonight"]),
    }


def board_lines(
    verb: str, changes: Iterable[dict[str, Any]], floors: Mapping[int, str]
) -> list[dict[str, Any]]:
    return [
        {
            "verb": verb,
            "how": "",
            "floor": floors[change["floor"]],
            "marks": [board["mark"] for board in change["boards"]],
        }
        for change in changes
    ]


def to_lay(nights: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Boards to lay loose before the night so that the household can walk, floor by floor."""
    marks: dict[str, set[str]] = {}
    for night in nights:
        for board in night["lay_loose"]:
            marks.setdefault(board["floor_name"], set()).add(board["mark"])
    return [
        {"verb": "Lay", "how": " loose for the night", "floor": floor,
         "marks": sorted(own, key=mark_key)}
        for floor, own in marks.items()
    ]  # fmt: skip


def misfits(plan: Plan | None) -> list[dict[str, Any]]:
    """What is not ready or has no place, each with what would help; `what_if` says which of it
    can be tried. Who is told first comes first."""
    rows = [("unready", plan.unready), ("unplaced", plan.unplaced)] if plan else []
    return [
        {
            "of": of,
            "row": number,
            "name": row["about"]["name"],
            "stamp": "no place" if of == "unplaced" else "not ready",
            "sentence": row["sentence"],
            "visit": row["about"]["id"] if row["about"]["kind"] == "visit" else 0,
            # Plans of earlier releases have none.
            "remedies": row.get("remedies", []),
        }
        for of, found in rows
        for number, row in enumerate(found)
    ]
