"""How soon the rest of the day moves: the demo house planned again after one mark.

Run from the repository's root, with the demo house in the data folder and a current plan
(`manage.py start --demo --no-serve`): `python -m tests.benchmarks.follow_speed`.
One JSON line for each mark on the next task to be done: seconds by the processor and by the
clock for the whole answer (read, plan, reasons, alerts, odds, changes, stored), the parts of it,
the share of stints moved, and how many changes have a cause on record. Nothing is kept: each
mark is taken back.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator

import django

MARKS = {"as planned": 0, "two hours more": 120, "half an hour less": -30, "a day more": 480}


def measured() -> Iterator[dict[str, object]]:
    """One line for each mark, after one round that loads the libraries."""
    from django.db import transaction
    from django.utils import timezone

    from apps.planning.models import Plan
    from apps.planning.services import current_plan, store, work_out
    from apps.property.models import Property

    house = Property.objects.get()
    now = timezone.now()
    for mark, more in [("loading", 0), *MARKS.items()]:
        with transaction.atomic():
            before = current_plan(house)
            assert before is not None, "there is a plan to start from"
            ahead = before.stints.filter(task__status="to_do", starts__gt=now)
            task = ahead.order_by("starts")[0].task
            assert task is not None, "only stints of tasks were asked for"
            left = max(15, task.likely_minutes + more)
            task.change(minutes_left=left, minutes_left_at=now)
            plan = Plan.objects.create(
                property=house, as_of=now, horizon_days=before.horizon_days, quick=True,
                state=Plan.State.SOLVING,
            )  # fmt: skip
            clock, processor = time.perf_counter(), time.process_time()
            answer = work_out(plan)
            store(plan, answer)
            plan.refresh_from_db()
            line = {
                "mark": mark,
                "processor_seconds": round(time.process_time() - processor, 2),
                "clock_seconds": round(time.perf_counter() - clock, 2),
                "plan_seconds": round(answer["first_plan_seconds"], 2),
                "moved_share": round(answer["moved"]["share"], 2),
                "changes": len(plan.changes),
                "with_cause": sum(bool(c["because"]["by"]) for c in plan.changes),
            }
            transaction.set_rollback(True)
        if mark != "loading":
            yield line


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")
    django.setup()
    for line in measured():
        print(json.dumps(line), flush=True)
