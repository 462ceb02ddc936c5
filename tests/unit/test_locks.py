"""A lock that one process holds at a time."""

from __future__ import annotations

import signal
import stat
import subprocess
import sys

import pytest

from renovation.locks import FileLock

HOLDER = """
import sys
from pathlib import Path
from renovation.locks import FileLock
assert FileLock(Path(sys.argv[1])).take()
print("held", flush=True)
sys.stdin.read()
"""


def test_only_one_has_it_until_it_is_left(tmp_path):
    first, second = FileLock(tmp_path / "lock"), FileLock(tmp_path / "lock")

    assert (first.take(), second.take()) == (True, False)
    assert first.take()
    first.leave()
    assert (second.take(), first.take()) == (True, False)
    second.leave()
    assert stat.S_IMODE((tmp_path / "lock").stat().st_mode) == 0o600


def test_it_goes_with_a_process_that_is_killed(tmp_path):
    ours = FileLock(tmp_path / "lock")
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(ours.path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    with holder:
        assert holder.stdout.readline() == b"held\n"
        assert not ours.take()
        holder.send_signal(signal.SIGKILL)
        holder.wait()

    assert ours.take()
    ours.leave()


def test_a_folder_that_takes_no_file_is_an_error_of_the_system(tmp_path):
    with pytest.raises(FileNotFoundError):
        FileLock(tmp_path / "gone" / "lock").take()
