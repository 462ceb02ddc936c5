"""The pages one learns from, done as they say by somebody who has just cloned the program."""

from __future__ import annotations

import json

from tests.installation import Installation
from tests.migrated import migrated
from tests.walkthrough import a_reader_with, follow, page

NEXT_MORNING = """
post plans/ '{"property": '$HOUSE', "seconds": 1}'
get "alerts/?property=$HOUSE"
"""


def test_the_evening_on_the_demo_house_goes_as_told(demo_copy):
    with a_reader_with(demo_copy, "--no-plan") as reader:
        ran = follow(page("docs/tutorial/one-evening.md"), reader)
        *_, alerts = reader.run(NEXT_MORNING).printed

    assert ran > 10
    found = json.loads(alerts)["results"]
    stops = {alert["sentence"] for alert in found if alert["severity"] == "stop"}
    assert stops
    assert [stop for stop in stops if "alcove" in stop or "Do not step on" in stop] == []


def test_a_house_of_ones_own_comes_to_its_first_plan_as_told(tmp_path):
    migrated(Installation(tmp_path))
    with a_reader_with(tmp_path) as reader:
        ran = follow(page("docs/how-to/your-own-house.md"), reader)

    assert ran > 10
