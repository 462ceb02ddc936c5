"""A web process killed between request and answer: the client sends the same key again."""

from __future__ import annotations

import os
import random
import signal
import time
from dataclasses import replace
from http.client import HTTPException
from pathlib import Path

from tests.installation import ask, until
from tests.services.conftest import LONG, web_process
from tests.services.faults import nothing_lost_or_done_twice, post, rooms_of, write_on

KILLS = 50 if LONG else 4
PROCESSES = 2


def children_of(pid):
    found = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    return [int(word) for word in found.split()]


def test_a_request_whose_process_was_killed_is_done_once(grown, record_property):
    house, planned = grown.seed(), grown.seed()
    before = rooms_of(grown, house)
    victims = replace(grown, address=web_process(grown.installation, "victims", PROCESSES))
    master = grown.installation.started[-1].pid
    chance = random.Random(11)

    def serves():
        try:
            return ask(f"{victims.address}/healthz").status == 200
        except (OSError, HTTPException):
            return False

    def kill():
        for _ in range(KILLS):
            until(serves, "a web process to serve again")
            time.sleep(chance.uniform(0, 2))
            for child in children_of(master):
                os.kill(child, signal.SIGKILL)

    def ask_for_plan(service, key):
        return post(service, "plans/", {"property": planned["property"], "seconds": 0.5}, key)

    tally = write_on(victims, house, seconds=0, meanwhile=kill, also=ask_for_plan)

    nothing_lost_or_done_twice(grown, house, tally, before)
    plans = grown.get(f"plans/?property={planned['property']}").json()["count"]
    assert plans == tally.also_done
    assert tally.statuses[0] > 0
    record_property("killed", KILLS)
    record_property("requests without an answer", tally.statuses[0])
    record_property("writes", tally.told())
