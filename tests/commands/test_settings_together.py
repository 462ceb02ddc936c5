"""Settings that each are right and together are not: system checks with an id and a hint."""

from __future__ import annotations

import subprocess
import sys

import pytest

from renovation.checks import celery_role, what_does_not_go_together
from tests.installation import REPOSITORY, Installation

WORKER = ["/usr/bin/celery", "-A", "renovation", "worker"]


DEFAULTS = {
    "role": "", "redis": False, "sqlite": True, "debug": False,
    "hosts": ["127.0.0.1", "localhost", "[::1]"],
}  # fmt: skip
GROWN = {"redis": True, "sqlite": False}


@pytest.mark.parametrize(
    ("words", "role"),
    [
        (WORKER, "worker"),
        (["/lib/celery/__main__.py", "-A", "renovation", "beat"], "beat"),
        (["/usr/bin/celery", "-A", "renovation", "purge"], ""),
        (["manage.py", "worker"], ""),
        ([], ""),
    ],
)
def test_a_process_knows_what_it_was_started_as(words, role):
    assert celery_role(words) == role


@pytest.mark.parametrize(
    "chosen",
    [
        {},
        {"debug": True},
        GROWN,
        {**GROWN, "role": "worker"},
        {**GROWN, "role": "beat"},
        {**GROWN, "hosts": ["boards.example"]},
    ],
)
def test_what_goes_together_is_left_in_peace(chosen):
    assert list(what_does_not_go_together(**DEFAULTS | chosen)) == []


@pytest.mark.parametrize(
    ("chosen", "id"),
    [
        ({"role": "worker"}, "lifted_boards.E001"),
        ({"role": "beat"}, "lifted_boards.E001"),
        ({"debug": True, "hosts": ["127.0.0.1", "boards.example"]}, "lifted_boards.E002"),
        ({"debug": True, "hosts": ["*"]}, "lifted_boards.E002"),
        ({"redis": True}, "lifted_boards.W001"),
        ({"https": False, "hosts": ["boards.example"]}, "lifted_boards.W002"),
    ],
)
def test_what_does_not_is_named_and_says_what_to_do(chosen, id):  # noqa: A002
    [message] = what_does_not_go_together(**DEFAULTS | chosen)

    assert message.id == id
    assert message.hint


def test_a_worker_without_a_broker_does_not_stay(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "celery", "-A", "renovation", "worker", "--pool", "solo"],
        cwd=REPOSITORY, env=Installation(tmp_path).environment, capture_output=True, text=True,
        check=False,
    )  # fmt: skip

    assert done.returncode != 0
    assert "lifted_boards.E001" in done.stderr
