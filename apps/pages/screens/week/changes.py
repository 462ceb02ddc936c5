"""What a supposed plan changes, beside the plan that stands, in a reader's order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from apps.pages.screens.week.supposed import day_meant, in_words
from apps.pages.screens.week.trades import doubt
from apps.pages.wording import duration
from apps.planning.clock import say
from apps.planning.compare import LEVEL_WORDS
from apps.planning.models import Plan
from apps.planning.side_by_side import compared
from apps.trades.models import Visit

NOWHERE = "no place"


def shown(plan: Plan, current: Plan | None) -> dict[str, Any]:
    """Everything the page needs: what is supposed, the verdict, both sides, what moves and why.

    `stale`: there is a newer plan than this one was tried against.
    """
    house = plan.property
    zone = ZoneInfo(house.timezone)
    told: dict[str, Any] = {
        "plan": plan,
        "suppositions": in_words(house, plan.what_if or {}),
        "on": day_meant(plan.what_if or {}, zone),
        "pending": plan.state in {Plan.State.QUEUED, Plan.State.SOLVING},
        "failure": plan.failure if plan.state == Plan.State.FAILED else "",
        "stale": current is None or current.pk > plan.pk,
        "version": version_of(plan),
        "doubts": [
            sentence
            for one in (plan.what_if or {}).get("visits", [])
            for visit in Visit.objects.filter(property=house, pk=one["id"]).select_related("trade")
            if (sentence := doubt(visit.trade, one, zone))
        ],
    }
    if plan.state != Plan.State.READY or current is None:
        return told
    both = compared(plan, current)
    found = list(rows(both, plan, current, zone))
    return {
        **told,
        "verdict": verdict(both),
        "rows": found,
        "same": [one for one in found[1:] if not one["differs"]],
        "moves": plan.changes,
        "moved_sentence": plan.moved["sentence"] if plan.moved else "",
        "worse": new_alerts(plan.alerts, current.alerts),
        "better": new_alerts(current.alerts, plan.alerts),
    }


def version_of(plan: Plan) -> int | None:
    """The version of the one visit that is moved, so that a later change of it is noticed."""
    visits = (plan.what_if or {}).get("visits", [])
    row = Visit.objects.filter(property=plan.property_id, pk=visits[0]["id"]).first() if (
        len(visits) == 1
    ) else None  # fmt: skip
    return row.version if row else None


def verdict(both: dict[str, Any]) -> str:
    """Which plan the planner itself would take, and for what."""
    decided = next((row["level"] for row in both["objective"] if row["better"] != "neither"), "")
    why = LEVEL_WORDS.get(decided, decided)
    return {
        "plan": f"Better than as planned: {why}.",
        "against": f"As planned is better: {why}.",
        "neither": "As good as planned, by all that the planner counts.",
    }[both["better"]]


def rows(
    both: dict[str, Any], plan: Plan, current: Plan, zone: ZoneInfo
) -> Iterable[dict[str, Any]]:
    """The table of both sides: the finish, each visit, and what has no place."""

    def at(instant: datetime | None) -> str:
        return say(instant.astimezone(zone)) if instant else "–"

    def visit_at(side: dict[str, Any] | None, short: str) -> str:
        if side is None:
            return NOWHERE
        return f"{at(side['starts'])}, {'ready' if side['ready'] else f'NOT READY{short}'}"

    now, then = shorts(current), shorts(plan)

    finish = both["finish"]
    yield row("All your work done", at(finish["against"]), at(finish["plan"]))
    for visit in both["visits"]:
        pk = visit["about"]["id"]
        yield row(
            visit["about"]["name"],
            visit_at(visit["against"], now.get(pk, "")),
            visit_at(visit["plan"], then.get(pk, "")),
        )
    if plan.unplaced or current.unplaced:
        yield row("Without a place", names(current.unplaced), names(plan.unplaced))


def shorts(plan: Plan) -> dict[int, str]:
    """How much is short for each visit that is not ready, by its id."""
    return {
        found["about"]["id"]: f", {duration(minutes)} short"
        for found in plan.unready
        if found["about"]["kind"] == "visit"
        and (minutes := found["short_working_minutes"] or found["short_minutes"])
    }


def row(name: str, now: str, then: str) -> dict[str, Any]:
    return {"name": name, "now": now, "then": then, "differs": now != then}


def names(unplaced: Sequence[dict[str, Any]]) -> str:
    return ", ".join(one["about"]["name"] for one in unplaced) or "nothing"


def new_alerts(
    here: Sequence[dict[str, Any]], there: Sequence[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Alerts of one plan that the other has not, about the same things or with other words."""
    known = {key_of(alert) for alert in there}
    return [alert for alert in here if key_of(alert) not in known]


def key_of(alert: dict[str, Any]) -> tuple[str, tuple[tuple[str, int], ...]]:
    return alert["code"], tuple((about["kind"], about["id"]) for about in alert["about"])
