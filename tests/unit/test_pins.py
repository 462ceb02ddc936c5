"""Every pinned package has hashes, is there once, and is the same wherever it is pinned.

Whether one of them is known to be broken needs an advisory service: `.ci/audit`.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FILES = ["constraints.txt", ".pins/test.txt", ".pins/grown.txt", ".pins/dev.txt"]
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+?)(?: ; (.+?))?(?: \\)?$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}(?: \\)?$")


def normal(name):
    """A package's name as indexes compare them: PEP 503."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pins(file):
    """Each pin as (name, version, marker) with its number of hashes."""
    found = {}
    last = None
    for line in (ROOT / file).read_text(encoding="utf-8").splitlines():
        if match := PIN.match(line):
            last = (normal(match[1]), match[2], match[3] or "")
            assert last not in found, f"{last} is pinned twice"
            found[last] = 0
        elif HASH.match(line):
            found[last] += 1
        else:
            assert line.startswith("    #") or not line, f"{file}: {line!r} is no pin"
    return found


@pytest.mark.parametrize("file", FILES)
def test_every_pin_has_hashes(file):
    found = pins(file)

    assert len(found) > 30
    assert [pin for pin, hashes in found.items() if not hashes] == []


@pytest.mark.parametrize("file", FILES)
def test_no_package_is_pinned_twice_for_the_same_machine(file):
    names = [name for name, _, marker in pins(file) if not marker]
    split = [name for name, _, marker in pins(file) if marker]

    assert len(names) == len(set(names))
    assert set(names) & set(split) == set()


@pytest.mark.parametrize("file", FILES)
def test_no_pin_is_a_release_before_its_time(file):
    early = re.compile(r"(a|b|rc|dev)\d*", re.IGNORECASE)

    assert [pin for pin in pins(file) if early.search(pin[1])] == []


def test_a_package_has_the_same_version_wherever_it_is_pinned():
    everything = pins(".pins/dev.txt")

    for file in FILES:
        assert set(pins(file)) <= set(everything)


def test_everything_that_is_asked_for_is_pinned():
    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)["project"]
    asked = {normal(re.match(r"[A-Za-z0-9._-]+", line)[0]) for line in project["dependencies"]}

    assert asked <= {name for name, _, _ in pins("constraints.txt")}
