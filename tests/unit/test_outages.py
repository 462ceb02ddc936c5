"""A cache that is gone breaks nothing; an outage is told as one, a mistake is not."""

from __future__ import annotations

import errno

import pytest
from django.db import InterfaceError, OperationalError

from renovation.caches import ForgivingRedisCache
from renovation.problems import from_machine

# As psycopg's: it is not installed where nobody asked for PostgreSQL.
Driver = type("OperationalError", (Exception,), {"__module__": "psycopg.errors"})
NOBODY = "redis://127.0.0.1:1/0"


@pytest.fixture
def gone():
    return ForgivingRedisCache(NOBODY, {"OPTIONS": {"socket_connect_timeout": 1}})


def test_a_cache_that_is_gone_knows_nothing_and_takes_what_it_is_given(gone):
    gone.set("plan", 1)

    assert gone.get("plan") is None
    assert gone.get("plan", 7) == 7
    assert gone.get("plan", default=7) == 7
    assert gone.get_many(["plan"]) == {}
    assert gone.set_many({"plan": 1}) == []
    assert not gone.has_key("plan")
    assert not gone.delete("plan")


def test_what_counts_in_a_cache_that_is_gone_starts_at_one(gone):
    assert gone.add("tries", 0)
    assert gone.incr("tries") == 1
    assert not gone.touch("tries")
    gone.delete_many(["tries"])
    gone.clear()


def caused(exc, cause):
    exc.__cause__ = cause
    return exc


@pytest.mark.parametrize(
    ("exc", "code", "status"),
    [
        (OperationalError("database is locked"), "busy", 503),
        (OperationalError("database or disk is full"), "no-room", 507),
        (OSError(errno.ENOSPC, "No space left on device"), "no-room", 507),
        (
            caused(OperationalError("server closed"), Driver()),
            "database-away", 503,
        ),
        (caused(InterfaceError("closed"), Driver()), "database-away", 503),
    ],
)  # fmt: skip
def test_an_outage_is_told_as_one(exc, code, status):
    problem = from_machine(exc)

    assert (problem.code, problem.status_code) == (code, status)


@pytest.mark.parametrize(
    "exc",
    [
        OperationalError("no such table: planning_plan"),
        OSError(errno.ENOENT, "No such file"),
        ValueError("x"),
        None,
    ],
)
def test_a_mistake_of_the_program_is_none(exc):
    assert from_machine(exc) is None
