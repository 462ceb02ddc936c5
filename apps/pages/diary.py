"""The week as the page shows it: the planner's answers, put into reading order."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from apps.pages.planner import latest_plan
from apps.pages.wording import entries, open_boards, plan_sentence, way_back
from apps.planning import selectors
from apps.planning.models import Plan
from apps.planning.week import week
from apps.property.models import Property

ONE_WEEK = timedelta(days=7)
ALERTS_SHOWN = 4
"""So many at once, and every `stop`; the rest is one tap away, or today is far down a phone."""


def diary(house: Property, *, on: date, today: date, now: datetime) -> dict[str, Any]:
    """Everything the week page needs, for its template."""
    found = week(house, on=on, now=now)
    plan, latest = found["plan"], latest_plan(house)
    floors = {floor.pk: floor.name for floor in house.floors.all()}
    days = [day(row, today, floors) for row in found["days"]]
    monday = days[0]["date"]
    this_week = monday <= today < monday + ONE_WEEK
    alerts = selectors.alerts(house, now=now)
    stops = sum(alert["severity"] == "stop" for alert in alerts)
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
        "plan_sentence": plan_sentence(plan, ZoneInfo(house.timezone)) if plan else "",
        "pending": latest is not None and latest.state in {Plan.State.QUEUED, Plan.State.SOLVING},
        "failure": latest.failure if latest and latest.state == Plan.State.FAILED else "",
        "alerts": alerts[: max(ALERTS_SHOWN, stops)],
        "more_alerts": alerts[max(ALERTS_SHOWN, stops) :],
        "past_days": [row for row in days if this_week and row["date"] < today],
        "days": [row for row in days if not this_week or row["date"] >= today],
        "open_boards": open_boards(selectors.board_holds(house, now=now), floors),
        "unplaced": plan["unplaced"] if plan else [],
    }


def day(row: dict[str, Any], today: date, floors: dict[int, str]) -> dict[str, Any]:
    return {
        "date": row["date"],
        "is_today": row["date"] == today,
        "hours": row["working_times"],
        "entries": entries(row),
        "boards": [
            {
                "verb": verb,
                "floor": floors[change["floor"]],
                "marks": [board["mark"] for board in change["boards"]],
            }
            for verb, key in (("Lift", "lift"), ("Fix", "fix"))
            for change in row["boards"][key]
        ],
        "cut_ways": [
            {"name": night["route"]["name"], "way_back": way_back(night)}
            for night in row["tonight"]
            if not night["holds"]
        ],
        "ways_hold": bool(row["tonight"]) and all(night["holds"] for night in row["tonight"]),
    }
