"""SQLite's one file written by four processes at once: everybody waits their turn, nobody is told
that it is locked."""

from __future__ import annotations

from tests.services.conftest import LONG, WEB_PROCESSES
from tests.services.faults import nothing_lost_or_done_twice, rooms_of, write_on

SECONDS = 60 if LONG else 6
CLIENTS = 8


def test_four_processes_write_and_no_client_hears_of_a_lock(small, record_property):
    house = small.seed()
    before = rooms_of(small, house)

    tally = write_on(small, house, seconds=SECONDS, meanwhile=lambda: None, clients=CLIENTS)

    nothing_lost_or_done_twice(small, house, tally, before)
    assert set(tally.statuses) == {201}
    assert "locked" not in small.installation.log("web")
    record_property("processes", WEB_PROCESSES)
    record_property("seconds", SECONDS)
    record_property("writes", tally.told())
