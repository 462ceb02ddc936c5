"""A web process killed between request and answer: the client sends the same key again."""

from __future__ import annotations

import os
import random
import signal
import time
from dataclasses import replace
from pathlib import Path

from tests.installation import until
from tests.services.conftest import LONG, web_process
from tests.services.faults import Tally, nothing_lost_or_done_twice, post, rooms_of, write_on

KILLS = 60 if LONG else 10
EVERY_WRITES = 20
"""So many are answered between one kill and the next; the next comes in the middle of one."""
PROCESSES = 3


def children_of(pid):
    found = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    return [int(word) for word in found.split()]


def test_a_request_whose_process_was_killed_is_done_once(grown, record_property):
    house, planned = grown.seed(), grown.seed()
    before = rooms_of(grown, house)
    victims = replace(grown, address=web_process(grown.installation, "victims", PROCESSES))
    master = grown.installation.started[-1].pid
    chance, tally = random.Random(11), Tally()

    def kill():
        for number in range(KILLS):
            enough = len(tally.acknowledged) + EVERY_WRITES
            until(lambda enough=enough: len(tally.acknowledged) >= enough, "writes to go on")
            time.sleep(chance.uniform(0, 0.1))
            children = children_of(master)
            # Every fifth time nobody is left to answer.
            for child in children if number % 5 == 4 else chance.sample(children, 1):
                os.kill(child, signal.SIGKILL)

    def ask_for_plan(service, key):
        return post(service, "plans/", {"property": planned["property"], "seconds": 0.5}, key)

    write_on(victims, house, seconds=0, meanwhile=kill, also=ask_for_plan, tally=tally)

    nothing_lost_or_done_twice(grown, house, tally, before)
    plans = grown.get(f"plans/?property={planned['property']}").json()["count"]
    assert plans == tally.also_done
    assert len(tally.acknowledged) >= KILLS * EVERY_WRITES
    assert tally.statuses[0] > 0
    record_property("killed", KILLS)
    record_property("requests without an answer", tally.statuses[0])
    record_property("plan requests", tally.also_done)
    record_property("writes", tally.told())
