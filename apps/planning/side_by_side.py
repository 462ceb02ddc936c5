"""Two plans of one house as rows, put side by side."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from apps.planning.clock import say
from apps.planning.compare import Shown, Stretch, Thing, side_by_side
from apps.planning.edits import edits
from apps.planning.models import Plan
from apps.planning.problem import Ref
from renovation.errors import Problem


def compared(plan: Plan, against: Plan) -> dict[str, Any]:
    """Everything that differs between two ready plans of one house.

    Raises:
        Problem: `plan-not-ready`, 409, when one of them has no answer to compare.
    """
    for one in (plan, against):
        if one.state != Plan.State.READY:
            why = one.failure or f"it is {one.state}"
            raise Problem(
                "plan-not-ready", f"Plan {one.pk} cannot be compared: {why}", state=one.state
            )
    zone = ZoneInfo(plan.property.timezone)

    def in_words(instant: datetime) -> str:
        return say(instant.astimezone(zone))

    later = max(plan.as_of, against.as_of)
    differs = edits(
        against.inputs,
        plan.inputs,
        past={},
        today=later.astimezone(zone).date(),
        say=in_words,
    )
    return {
        "plan": plan.pk,
        "against": against.pk,
        **side_by_side(shown(plan), shown(against), in_words),
        "made_from": [
            {"sentence": edit.sentence, "by": [ref_dict(edit.ref)]}
            for edit in differs
            if plan.inputs and against.inputs
        ],
    }


def shown(plan: Plan) -> Shown:
    rows: dict[tuple[str, int], list[Stretch]] = defaultdict(list)
    names: dict[tuple[str, int], str] = {}
    stints = plan.stints.order_by("starts").select_related("task", "visit__trade", "inspection")
    for row in stints:
        found: Any = row.task or row.visit or row.inspection
        key = (found._meta.model_name, found.pk)
        names[key] = str(found)
        rows[key].append((row.starts, row.ends))
    for supposed in plan.supposed_stints:
        key = ("task", supposed["task"])
        names[key] = supposed["supposed"]
        times = (datetime.fromisoformat(supposed[name]) for name in ("starts", "ends"))
        rows[key].append((next(times), next(times)))
    return Shown(
        things={key: Thing(*key, names[key], tuple(own)) for key, own in rows.items()},
        levels={row["level"]: row["value"] for row in plan.objective},
        unplaced=plan.unplaced,
        unready=frozenset(
            about["id"]
            for alert in plan.alerts
            if alert["code"] == "visit_unready"
            for about in alert["about"]
            if about["kind"] == "visit"
        ),
    )


def ref_dict(ref: Ref) -> dict[str, Any]:
    return {"kind": ref.kind, "id": ref.id, "name": ref.name}
