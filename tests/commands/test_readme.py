"""The README's commands, given to a house that `manage.py start --demo` has just made."""

from __future__ import annotations

import re

from tests.walkthrough import a_reader_with, page


def block(mark):
    found = re.findall(rf"<!-- {mark} -->\n```sh\n(.*?)```", page("README.md"), re.DOTALL)
    assert len(found) == 1, f"the README has {len(found)} blocks marked {mark}"
    return found[0]


def test_every_request_of_the_readme_is_answered(demo_copy):
    with a_reader_with(demo_copy, "--no-plan") as reader:
        told = reader.run(block("curl"))

    assert len(told.statuses) > 4
    assert [answer for answer, status in zip(told.printed, told.statuses, strict=True)
            if status >= 400] == []  # fmt: skip


def test_the_two_commands_of_the_readme_set_everything_up_themselves():
    for mark in ("start", "test"):
        command = block(mark)
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install ")
        assert "://" not in command
