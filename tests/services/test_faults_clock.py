"""The clocks change: one plan a night, at four, and stints within the hours on the wall.

The days are those of the IANA time zone database for Europe/London in 2026. A worker on
PostgreSQL makes the plans; "now" is an argument, so no clock of this machine is moved.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.installation import until

LONDON = ZoneInfo("Europe/London")
NIGHTS = """
from datetime import datetime, timedelta
from django.utils import timezone
from apps.planning.models import Plan
from apps.planning.routine.replanning import replan_at_night
begins = datetime.fromisoformat({begins!r})
for n in range(12 * 36):
    replan_at_night(now=begins + n * timedelta(minutes=5))
    Plan.objects.filter(because="night", state="queued").update(state="cancelled")
answer = [
    [str(row.night_of), row.as_of.isoformat()]
    for row in Plan.objects.filter(because="night", property={property}).order_by("pk")
]
"""


@pytest.mark.parametrize("change", [date(2026, 3, 29), date(2026, 10, 25)])
def test_plans_and_stints_hold_over_the_day_the_clocks_change(grown, worker, change):
    house = grown.seed()
    before = datetime.combine(change - timedelta(days=1), time(12), LONDON)
    body = {
        "property": house["property"], "as_of": before.isoformat(), "horizon_days": 7, "seconds": 1
    }  # fmt: skip
    plan_id = grown.post("plans/", body).json()["id"]
    worker()
    until(lambda: grown.get(f"plans/{plan_id}/").json()["status"] == "ready", "the plan")

    stints = grown.get(f"plans/{plan_id}/").json()["stints"]
    nights = grown.installation.run(
        NIGHTS.format(begins=before.isoformat(), property=house["property"])
    )

    assert {stint["task"] for stint in stints} == set(house["tasks"])
    for stint in stints:
        starts, ends = (
            datetime.fromisoformat(stint[name]).astimezone(LONDON) for name in ("starts", "ends")
        )
        assert time(8) <= starts.time()
        assert ends.time() <= time(20)
    assert [on for on, _ in nights] == [str(change)]
    local = datetime.fromisoformat(nights[0][1]).astimezone(LONDON)
    assert (local.hour, local.minute) == (4, 0)
