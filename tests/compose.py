"""What docker-compose.yml starts, for tests that start the same as plain processes."""

from __future__ import annotations

import shlex
from functools import cache
from typing import Any

import yaml

from tests.installation import REPOSITORY


@cache
def compose_file() -> dict[str, Any]:
    text = (REPOSITORY / "docker-compose.yml").read_text(encoding="utf-8")
    loaded: dict[str, Any] = yaml.safe_load(text)
    return loaded


def steps(service: str) -> list[list[str]]:
    """The programs that a service runs, one after another, as words.

    Compose writes `$$` for a `$`; `exec` only says that the shell makes way.
    """
    command = compose_file()["services"][service]["command"]
    line = command if isinstance(command, str) else command[-1]
    words = shlex.split(line.replace("$$", "$"))
    found: list[list[str]] = [[]]
    for word in words:
        if word == "&&":
            found.append([])
        elif word != "exec":
            found[-1].append(word)
    return found


def as_module(words: list[str]) -> list[str]:
    """A program's words for `python`: `celery …` as `-m celery …`, `python x` as `x`."""
    return words[1:] if words[0] == "python" else ["-m", *words]
