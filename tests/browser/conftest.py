"""The demo house, started as a new user starts it, and Debian's own browser."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from shutil import which
from typing import Any

import pytest

from tests.installation import Installation, free_port, is_listening, until

SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 800}}


@dataclass(frozen=True)
class Site:
    """A running program: where it is, and the sign-in address that it printed."""

    installation: Installation
    port: int
    sign_in: str

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def fresh_sign_in(self) -> str:
        return self.installation.manage("sign_in", "--port", str(self.port)).strip()


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    chromium = which("chromium")
    assert chromium, "these tests need a browser: apt-get install chromium"
    # The sandbox needs a user other than root, which a build machine seldom has.
    return {**browser_type_launch_args, "executable_path": chromium, "args": ["--no-sandbox"]}


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """`manage.py start --demo`, serving."""
    site = started(tmp_path_factory.mktemp("demo"), "--demo")
    yield site
    site.installation.close()


@pytest.fixture(scope="session")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """`manage.py start` without a house."""
    site = started(tmp_path_factory.mktemp("bare"))
    yield site
    site.installation.close()


def started(folder: Path, *options: str) -> Site:
    installation, port = Installation(folder), free_port()
    server = installation.process("start", "manage.py", "start", "--port", str(port), *options)
    until(
        lambda: is_listening(port) or server.poll() is not None,
        "the program to answer",
    )
    assert server.poll() is None, installation.log("start")
    printed = re.search(r"http://\S+/sign-in/\S+/", installation.log("start"))
    assert printed, installation.log("start")
    return Site(installation, port, printed.group())


@dataclass
class Seen:
    """What a page did behind the person's back."""

    console: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)


@pytest.fixture(params=SIZES, ids=list(SIZES))
def size(request: pytest.FixtureRequest) -> dict[str, int]:
    return SIZES[request.param]


@pytest.fixture(params=["light", "dark"])
def scheme(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def watched(page: Any) -> Seen:
    """Note errors, and every host that the page asks for anything."""
    seen = Seen()
    page.on(
        "console",
        lambda message: seen.console.append(message.text)
        if message.type in {"error", "warning"}
        else None,
    )
    page.on("pageerror", lambda error: seen.console.append(str(error)))
    page.on("request", lambda request: seen.hosts.add(request.url.split("/")[2]))
    return seen


def sign_in(page: Any, site: Site) -> None:
    page.goto(site.fresh_sign_in())
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{site.address}/**")
