"""Pages that tell somebody what to type, typed for real.

A page marks what is run: `<!-- run -->` before a `sh` block, and `<!-- answer -->` before the
shortened answer of the block above it. An answer in JSON is part of the real one: every key
shown is there, every item shown is among the real items, and `…` in a text stands for
anything. An answer in plain text is a few of the lines printed.

The commands are read here and not by a shell, so that neither a shell nor curl has to be
installed: `curl`, `manage.py`, `date`, `python3 -c`, variables, pipes and one-line functions.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import Request, urlopen

from tests.installation import REPOSITORY, Installation, free_port, is_listening, until

BLOCK = re.compile(r"<!-- (?P<mark>[\w-]+) -->\n```(?P<kind>\w+)\n(?P<text>.*?)```", re.DOTALL)
FUNCTION = re.compile(r"(\w+)\(\) \{ (.*); \}")
ASSIGNED = re.compile(r"(\w+)=(.*)")
NAME = re.compile(r"\$(\w+)")
PAGES_SERVER = "http://127.0.0.1:8000"
GIVE_UP_SECONDS = 120
SHOWN = 3000


@dataclass(frozen=True)
class Block:
    mark: str
    kind: str
    text: str


@dataclass
class Told:
    """What one block printed, and the status of each request it made."""

    printed: list[str] = field(default_factory=list)
    statuses: list[int] = field(default_factory=list)


def page(name: str) -> str:
    return (REPOSITORY / name).read_text(encoding="utf-8")


def marked_blocks(text: str) -> Iterator[Block]:
    for found in BLOCK.finditer(text):
        if found["mark"] in {"run", "answer"}:
            yield Block(found["mark"], found["kind"], found["text"])


@dataclass
class Reader:
    """Does what a block says.

    Attributes:
        manage: runs `manage.py` with some words; what it printed.
        served: where the server of the pages' `http://127.0.0.1:8000` really is.
    """

    manage: Callable[..., str]
    served: str
    names: dict[str, str] = field(default_factory=dict)
    functions: dict[str, str] = field(default_factory=dict)
    told: Told = field(default_factory=Told)

    def run(self, block: str) -> Told:
        self.told = Told()
        for line in whole_lines(block):
            if line.strip() and not line.lstrip().startswith("#"):
                self.line(line.strip())
        return self.told

    def line(self, line: str) -> None:
        if function := FUNCTION.fullmatch(line):
            self.functions[function[1]] = function[2]
        elif assigned := ASSIGNED.fullmatch(line):
            value = assigned[2]
            self.names[assigned[1]] = (
                self.pipe(value[2:-1]).strip() if value.startswith("$(") else
                "".join(self.words(value)[0])
            )  # fmt: skip
        else:
            self.told.printed.append(self.pipe(line))

    def pipe(self, line: str) -> str:
        """Run the commands of a line, each fed with what the one before printed."""
        printed = ""
        for words in self.words(line):
            printed = self.command(words, printed)
        return printed

    def words(self, line: str) -> list[list[str]]:
        """The line's commands as words, quotes and variables done with."""
        commands: list[list[str]] = [[]]
        word: str | None = None
        quote = ""
        at = 0
        while at < len(line):
            sign = line[at]
            if quote and sign == quote:
                quote = ""
            elif not quote and sign in "'\"":
                quote, word = sign, word or ""
            elif sign == "$" and quote != "'" and (name := NAME.match(line, at)):
                word = (word or "") + self.names[name[1]]
                at = name.end() - 1
            elif not quote and sign in " |#":
                if sign == "#" and word is None:
                    break
                if word is not None and sign != "#":
                    commands[-1].append(word)
                    word = None
                if sign == "|":
                    commands.append([])
                elif sign == "#":
                    word = (word or "") + sign
            else:
                word = (word or "") + sign
            at += 1
        if word is not None:
            commands[-1].append(word)
        return commands

    def command(self, words: list[str], fed: str) -> str:
        first, *rest = words
        if first in self.functions:
            before = dict(self.names)
            self.names |= {str(n): word for n, word in enumerate(rest, start=1)}
            printed = ""
            for n, inner in enumerate(self.words(self.functions[first])):
                printed = self.command(inner, printed if n else fed)
            self.names = before
            return printed
        if first == "curl":
            return self.curl(rest)
        if first == "date":
            return datetime.now(UTC).strftime(rest[-1].removeprefix("+"))
        if first == ".venv/bin/python" and rest[0] == "manage.py":
            return self.manage(*rest[1:])
        assert first == "python3", f"the pages' reader knows no command {first!r}"
        return subprocess.run(
            [sys.executable, *rest], input=fed, capture_output=True, text=True, check=True
        ).stdout

    def curl(self, words: list[str]) -> str:
        address, data, headers = "", None, []
        rest = iter(words)
        for word in rest:
            if word == "-H":
                headers.append(next(rest))
            elif word == "-d":
                data = next(rest).encode()
            elif word != "-s":
                assert not word.startswith("-"), f"the pages' reader knows no curl {word}"
                address = word
        request = Request(address.replace(PAGES_SERVER, self.served), data=data)
        for header in headers:
            name, _, value = header.partition(": ")
            request.add_header(name, value)
        try:
            with urlopen(request, timeout=GIVE_UP_SECONDS) as response:
                status, text = response.status, response.read().decode()
        except HTTPError as error:
            status, text = error.code, error.read().decode()
        self.told.statuses.append(status)
        return text


@contextmanager
def a_reader_with(folder: Path, *words: str) -> Iterator[Reader]:
    """Somebody with a terminal, and `manage.py start` running in another window."""
    installation = Installation(folder)
    port = free_port()
    try:
        installation.process("start", "manage.py", "start", *words, "--port", str(port))
        until(lambda: is_listening(port), "the server")
        yield Reader(installation.manage, f"http://127.0.0.1:{port}")
    finally:
        installation.close()


def follow(text: str, reader: Reader) -> int:
    """Do what a page says, and see that it answers as the page says. How many blocks ran.

    A request may only be refused where the answer shown says so by its `status`.
    """
    ran = 0
    told, block = Told(), Block("", "", "")
    announced = True
    for step in [*marked_blocks(text), Block("run", "sh", "")]:
        if step.mark == "run":
            refused = [status for status in told.statuses if status >= 400]
            assert announced or not refused, f"{block.text}{str(told.printed)[:SHOWN]}"
            told, block, announced = reader.run(step.text), step, False
            ran += bool(step.text)
        elif step.kind == "json":
            shown = json.loads(step.text)
            answers = [json.loads(text) for text in told.printed if text.startswith(("{", "["))]
            assert any(is_part(shown, real) for real in answers), (
                f"{block.text}\nshows\n{step.text}\nand answers\n{str(told.printed)[:SHOWN]}"
            )
            announced = announced or (isinstance(shown, dict) and shown.get("status", 0) != 0)
        else:
            printed = " ".join(" ".join(told.printed).split())
            for line in filter(None, (" ".join(row.split()) for row in step.text.splitlines())):
                assert is_like(f"…{line}…", printed), (
                    f"{block.text}\nprints\n{printed}\nnot\n{line}"
                )
    return ran


def whole_lines(block: str) -> Iterator[str]:
    """Lines joined where they end in a backslash or inside quotes."""
    line = ""
    for part in block.splitlines():
        line += part.removesuffix("\\") + " "
        if not part.endswith("\\") and line.count("'") % 2 == 0:
            yield line
            line = ""
    assert not line, f"this never ends: {line}"


def is_part(shown: Any, real: Any) -> bool:
    """Whether a shortened answer is part of the real one."""
    if isinstance(shown, dict):
        return isinstance(real, dict) and all(
            key in real and is_part(value, real[key]) for key, value in shown.items()
        )
    if isinstance(shown, list):
        return isinstance(real, list) and all(
            any(is_part(item, other) for other in real) for item in shown
        )
    if isinstance(shown, str):
        return isinstance(real, str) and is_like(shown, real)
    return bool(shown == real)


def is_like(shown: str, real: str) -> bool:
    """Whether a text is as shown, with anything in the place of each `…`."""
    pattern = re.sub(r"([\[\]*?])", r"[\1]", shown).replace("…", "*")
    return fnmatchcase(real, pattern)
