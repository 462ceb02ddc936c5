"""An installation of its own in a temporary folder, run as a stranger would run it."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar
from urllib.error import HTTPError
from urllib.request import Request, urlopen

REPOSITORY = Path(__file__).resolve().parent.parent
Found = TypeVar("Found")
GIVE_UP_SECONDS = 120
"""How long a step may take on a busy machine before the test says what it waited for."""


@dataclass(frozen=True)
class Answer:
    status: int
    headers: Any
    text: str

    def json(self) -> Any:
        return json.loads(self.text)


@dataclass
class Installation:
    """The program with a data folder and settings of its own; its processes end with `close`.

    Without `settings` it is a fresh clone's: SQLite, tasks in-process.
    """

    folder: Path
    settings: dict[str, str] = field(default_factory=dict)
    started: list[subprocess.Popen[bytes]] = field(default_factory=list)

    @property
    def environment(self) -> dict[str, str]:
        kept = {
            name: value
            for name, value in os.environ.items()
            if name not in {"DATABASE_URL", "REDIS_URL"} and not name.startswith("LIFTED_BOARDS_")
        }
        return {
            **kept,
            "LIFTED_BOARDS_DATA": str(self.folder / "data"),
            "LIFTED_BOARDS_PLAN_SECONDS": "1",
            "PYTHONUNBUFFERED": "1",
            **self.settings,
        }

    def python(self, *arguments: str) -> str:
        """Run Python to its end; what it printed."""
        done = subprocess.run(
            [sys.executable, *arguments], cwd=REPOSITORY, env=self.environment,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, f"{arguments}: {done.stdout}\n{done.stderr}"
        return done.stdout

    def manage(self, *arguments: str) -> str:
        return self.python("manage.py", *arguments)

    def run(self, code: str) -> Any:
        """Run lines in the installation's Django; what they leave in `answer`."""
        out = self.python(
            "-c",
            "import json, django; django.setup(); answer = None\n"
            f"{code}\nprint('\\n' + json.dumps(answer))",
        )
        return json.loads(out.splitlines()[-1])

    def process(self, name: str, *command: str) -> subprocess.Popen[bytes]:
        """Start a process with a group of its own and a log in the folder."""
        with (self.folder / f"{name}.log").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, *command], cwd=REPOSITORY, env=self.environment,
                stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        self.started.append(process)
        return process

    def log(self, name: str) -> str:
        path = self.folder / f"{name}.log"
        return path.read_text(errors="replace") if path.exists() else ""

    def close(self) -> None:
        for process in self.started:
            end(process)


def end(process: subprocess.Popen[bytes], how: int = signal.SIGTERM) -> None:
    """End a process and its children, and wait until it has."""
    if process.poll() is not None:
        return
    os.killpg(process.pid, how)
    try:
        process.wait(timeout=GIVE_UP_SECONDS)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=GIVE_UP_SECONDS)


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def until(look: Callable[[], Found], what: str) -> Found:
    """Look again and again until there is something to see."""
    gives_up = time.monotonic() + GIVE_UP_SECONDS
    while time.monotonic() < gives_up:
        if found := look():
            return found
        time.sleep(0.05)
    raise AssertionError(f"waited {GIVE_UP_SECONDS} s in vain for {what}")


def ask(
    address: str,
    *,
    token: str = "",
    body: Any = None,
    method: str | None = None,
    headers: Sequence[tuple[str, str]] = (),
) -> Answer:
    """One request over the network: GET, or POST with a body, unless a method is named."""
    data = None if body is None else json.dumps(body).encode()
    request = Request(address, data=data, method=method)
    request.add_header("Content-Type", "application/json")
    if token:
        request.add_header("Authorization", f"Token {token}")
    for name, value in headers:
        request.add_header(name, value)
    try:
        with urlopen(request, timeout=GIVE_UP_SECONDS) as response:
            return Answer(response.status, response.headers, response.read().decode())
    except HTTPError as error:
        return Answer(error.code, error.headers, error.read().decode())


def is_listening(port: int) -> bool:
    with socket.socket() as caller:
        return caller.connect_ex(("127.0.0.1", port)) == 0
