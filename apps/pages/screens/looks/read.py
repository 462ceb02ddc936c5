"""Hold points as the pages show them: when, what stands before each, and what waits for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from apps.floors.models import Board
from apps.inspections import selectors
from apps.inspections.models import SIGNED_OFF, Inspection, SignOff
from apps.inspections.notice_words import notice_for
from apps.inspections.owed import owed
from apps.inspections.selectors import missing_of
from apps.pages.screens.looks.words import BY, LOOKS, RESULTS, STATES
from apps.planning.services import current_plan
from apps.planning.spans import plan_spans
from apps.planning.tonight import needs_of
from apps.property.models import Property
from apps.work.models import Task

OVER = (Task.Status.DONE, Task.Status.DROPPED)
TO_ASK = (Inspection.State.DUE, Inspection.State.REJECTED)
Spans = Mapping[str, tuple[datetime, datetime]]


def looks_shown(house: Property) -> dict[str, Any]:
    """Every look: those to come in the order of the plan, then those that passed."""
    rows = list(house.inspections.prefetch_related("looks_at", "blocks").order_by("pk"))
    cards = cards_of(house, rows)
    waits = [card for card in cards if not card["passed"]]
    missing = owed(house)
    return {
        "waits": sorted(waits, key=in_order),
        "passed": [card for card in cards if card["passed"]],
        "conditions": selectors.open_conditions(house).order_by("due_on", "pk"),
        "owed": len(missing),
    }


def in_order(card: dict[str, Any]) -> tuple[bool, float, int]:
    """By its time; what has none comes last."""
    starts: datetime | None = card["starts"]
    return starts is None, starts.timestamp() if starts else 0.0, card["row"].pk


def cards_of(house: Property, rows: Sequence[Inspection]) -> list[dict[str, Any]]:
    """One card for each look. As many queries for many as for few."""
    plan = current_plan(house)
    spans = plan_spans(plan)
    notices = {
        ref["id"]: alert["sentence"]
        for alert in (plan.alerts if plan else [])
        if alert["code"] == "notice_due"
        for ref in alert["about"]
    }
    boards = list(Board.objects.filter(floor__property=house).order_by("floor", "course", "pk"))
    needs = needs_of(house, [("inspection", row.pk) for row in rows], boards)
    missing: dict[int, list[str]] = {}
    for one in missing_of(rows):
        missing.setdefault(one.inspection.pk, []).append(one.title)
    return [
        card(row, spans, needs.get(("inspection", row.pk), []), missing.get(row.pk, []),
             notices.get(row.pk, ""))
        for row in rows
    ]  # fmt: skip


def card(
    row: Inspection, spans: Spans, needs: list[dict[str, Any]], missing: list[str], notice: str
) -> dict[str, Any]:
    """What stands before one look, and what waits for it."""
    passed, state = row.state in SIGNED_OFF, Inspection.State(row.state)
    own = row.by == Inspection.By.OWN_CHECK
    planned = spans.get(f"inspection:{row.pk}", (None, None))
    starts, ends = (row.booked_starts, row.booked_ends) if row.booked_starts else planned
    undone = [task for task in row.looks_at.all() if task.status not in OVER]
    shut = [need for need in needs if need["shut"]]
    return {
        "row": row,
        "state": "not looked at yet" if own and row.state == "due" else STATES[state],
        "own": own,
        "who_looked": "I looked" if own else "They looked",
        "by": BY[Inspection.By(row.by)],
        "passed": passed,
        "starts": starts,
        "ends": ends,
        "booked": row.booked_starts is not None,
        "to_ask": row.state in TO_ASK and not own,
        "notice": notice if row.state in TO_ASK else "",
        "undone": [] if passed else undone,
        "shut": [] if passed else shut,
        "missing": missing,
        "ready": not (passed or undone or shut or missing),
        "waiting": [task for task in row.blocks.all() if task.status not in OVER],
    }


def inspection_shown(row: Inspection, *, by: Any, today: date) -> dict[str, Any]:
    """One look whole: what stands before it, the notice, what was said, what is on file."""
    house = row.property
    told = cards_of(house, [row])[0]
    said = list(
        row.sign_offs.select_related("supersedes", "superseded_by", "recorded_by", "task")
        .prefetch_related("conditions__blocks")
        .order_by("-number")
    )
    notice, earliest_on = notice_for(row, by=by, today=today) if told["to_ask"] else ("", None)
    return {
        **told,
        "card": told,
        "rejected": row.state == Inspection.State.REJECTED,
        "said_of_it": [sign_off_shown(one) for one in said],
        "notice_text": notice,
        "earliest_on": earliest_on,
        "asked_for": [item for item in row.required_evidence if item["title"] in told["missing"]],
        "results": LOOKS,
        "who": who_looked(row),
        "evidence": row.evidence.order_by("-pk"),
    }


def sign_off_shown(row: SignOff) -> dict[str, Any]:
    later = getattr(row, "superseded_by", None)
    return {
        "row": row,
        "result": RESULTS[SignOff.Result(row.result)],
        "later": later,
        "may_correct": later is None and row.result != SignOff.Result.OVERRIDDEN,
        "conditions": row.conditions.all(),
    }


def who_looked(row: Inspection) -> str:
    """Who came last for a look of this kind in this house: most likely the same person."""
    rows = SignOff.objects.filter(property=row.property_id, inspection__by=row.by)
    last = rows.exclude(result=SignOff.Result.OVERRIDDEN).order_by("number").last()
    return last.seen_by if last else ""
