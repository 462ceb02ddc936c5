"""The order between activities: the person's links, hold points, boards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta

from apps.planning.clock import quarters
from apps.planning.floor_order import FloorTask, OpenNeed
from apps.planning.loading.house import (
    House,
    blocked_tasks,
    inspection_in_plan,
    ref,
    stands_in_plan,
)
from apps.planning.problem import Link, LinkKind, ReasonCode
from apps.trades.models import AccessNeed


def own_links(house: House, aliases: dict[str, str]) -> Iterable[Link]:
    """The person's links, between tasks still to do."""
    for link in house.links:
        before, after = aliases.get(f"task:{link.before_id}"), aliases.get(f"task:{link.after_id}")
        if before and after and before != after:
            drying = link.min_lag_minutes > 0 and link.lag_clock == "elapsed"
            kind: LinkKind = link.kind  # type: ignore[assignment]
            yield Link(
                before, after, kind,
                min_lag=quarters(link.min_lag_minutes),
                max_lag=None if link.max_lag_minutes is None else quarters(link.max_lag_minutes),
                clock="working" if link.lag_clock == "working" else "elapsed",
                code=link_code(before, drying=drying),
                reason=link.reason,
                by=(ref(house.tasks[link.before_id]),),
            )  # fmt: skip


def link_code(before: str, *, drying: bool) -> ReasonCode:
    if drying:
        return "drying"
    return "visit" if before.startswith("visit:") else "predecessor"


def own_order(house: House, aliases: dict[str, str]) -> dict[str, set[str]]:
    """The person's own order, with hold points, as key → keys after it."""
    after: dict[str, set[str]] = defaultdict(set)
    for link in (*own_links(house, aliases), *hold_points(house, aliases)):
        if link.kind in {"FS", "SS", "FF"}:
            after[link.before].add(link.after)
    return after


def hold_points(house: House, aliases: dict[str, str]) -> Iterable[Link]:
    """Work that is looked at → its inspection → what the inspection blocks."""
    for row in house.inspections.values():
        if not inspection_in_plan(house, row):
            continue
        key = f"inspection:{row.pk}"
        for task in row.looks_at.all():
            if before := aliases.get(f"task:{task.pk}"):
                yield Link(before, key, reason=f"{row} looks at it.", by=(ref(task),))
        for task_id in blocked_tasks(house, row):
            if after := aliases.get(f"task:{task_id}"):
                yield Link(
                    key, after, code="sign_off",
                    reason=f"{row} must be signed off first.", by=(ref(row),),
                )  # fmt: skip


def floor_tasks(house: House, aliases: dict[str, str]) -> list[FloorTask]:
    return [
        FloorTask(
            aliases[f"task:{task.pk}"],
            ref(task),
            task.floor_action,  # type: ignore[arg-type]
            house.touched[("task", task.pk)],
        )
        for task in house.tasks.values()
        if f"task:{task.pk}" in aliases and ("task", task.pk) in house.touched
    ]


def open_needs(house: House, aliases: dict[str, str]) -> list[OpenNeed]:
    """Needs not yet released, tied to the activity that uses the opening."""
    needs = []
    for need in house.needs:
        if need.released_at is not None:
            continue
        key: str | None = None
        until: int | None = None
        if need.until == AccessNeed.Until.VISIT_DONE:
            key = f"visit:{need.visit_id}" if stands_in_plan(house, need.visit) else None
        elif need.until == AccessNeed.Until.TASK_DONE:
            key = aliases.get(f"task:{need.task_id}")
        elif need.until == AccessNeed.Until.SIGNED_OFF:
            inside = inspection_in_plan(house, need.inspection)
            key = f"inspection:{need.inspection_id}" if inside else None
        elif need.until_date is not None:
            until = house.clock.midnight(need.until_date + timedelta(days=1))
        boards = house.touched.get(("accessneed", need.pk), frozenset())
        needs.append(OpenNeed(ref(need), boards, key, who_needs(need), need.purpose, until))
    return needs


def who_needs(need: AccessNeed) -> str:
    return str(need.trade or need.task or need.inspection)
