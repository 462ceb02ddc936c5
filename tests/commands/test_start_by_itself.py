"""While `manage.py start` serves without Redis, what happens by itself does."""

from __future__ import annotations

import signal

import pytest

from tests.installation import Installation, ask, end, free_port, is_listening, until

# Noon on the house's clock wherever the test runs, and the last plan is of the day before.
SLEPT = """
from datetime import timedelta
from django.utils import timezone
from apps.planning.models import Plan
from apps.property.models import Property
now = timezone.now()
ahead = 12 - now.hour
Property.objects.update(timezone=f"Etc/GMT{'-' if ahead >= 0 else '+'}{abs(ahead)}")
Plan.objects.update(as_of=now - timedelta(days=1))
"""
# The program itself, but it need not be waited for.
START = """
import sys, django
django.setup()
from django.conf import settings
from django.core.management import call_command
for row in settings.CELERY_BEAT_SCHEDULE.values():
    row["schedule"] = 0.2
call_command("start", "--no-plan", "--port", sys.argv[1])
"""
NIGHTS = """
from apps.planning.models import Plan
answer = [row.state for row in Plan.objects.filter(because="night")]
"""


@pytest.fixture
def slept(demo_copy):
    installation = Installation(demo_copy)
    installation.run(SLEPT)
    yield installation
    installation.close()


def started(installation, name):
    port = free_port()
    process = installation.process(name, "-c", START, str(port))
    until(lambda: is_listening(port) or process.poll() is not None, "the server")
    assert process.poll() is None, installation.log(name)
    return process, f"http://127.0.0.1:{port}"


def test_a_laptop_that_slept_at_four_has_its_plan_once_and_serves_meanwhile(slept):
    first, address = started(slept, "first")
    second, _ = started(slept, "second")
    token = slept.manage("token").strip()

    def nights():
        found = ask(f"{address}/api/v1/plans/?ordering=-id", token=token)
        assert found.status == 200
        return [row for row in found.json()["results"] if row["because"] == "night"]

    until(lambda: [row["status"] for row in nights()] == ["ready"], "the plan of the night")
    ready = ask(f"{address}/readyz")
    for process in (first, second):
        end(process)

    assert slept.run(NIGHTS) == ["ready"]
    assert ready.json()["checks"]["beat"] == "ready"
    assert (first.returncode, second.returncode) == (0, 0)
    assert "Traceback" not in slept.log("first") + slept.log("second")


def test_one_takes_over_when_the_other_is_killed(slept):
    first, _ = started(slept, "first")
    until(lambda: slept.run(NIGHTS) == ["ready"], "the plan of the night")
    _, address = started(slept, "second")
    end(first, signal.SIGKILL)
    slept.run(f"{SLEPT}\nPlan.objects.filter(because='night').update(night_of='2020-01-01')")

    until(lambda: slept.run(NIGHTS) == ["ready", "ready"], "another plan by the second")

    assert ask(f"{address}/readyz").status == 200
