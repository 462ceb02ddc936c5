"""The demo house, started as a new user starts it, and Debian's own browser.

The program runs in processes of its own, so nothing here touches Django's database from the
browser driver's event loop.

`AS_IF="Friday 23:30"` sets the clock of both ahead to the next such moment, in the demo house's
zone: no story may depend on the day or the hour at which it happens to be told.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import which
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.installation import Installation, free_port, is_listening, until
from tests.migrated import migrated

ZONE = ZoneInfo("Europe/London")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
CLOCK = Path(__file__).parent / "clock"
SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 800}}


def ahead_of(real: datetime, as_if: str) -> timedelta:
    """From now to the next such day and hour; nothing when none is named."""
    if not as_if:
        return timedelta()
    day, _, hour = as_if.partition(" ")
    wanted = datetime.strptime(hour, "%H:%M").time()
    here = real.astimezone(ZONE)
    days = (DAYS.index(day) - here.weekday()) % 7
    then = datetime.combine(here.date() + timedelta(days=days), wanted, tzinfo=ZONE)
    if then <= here:
        then = datetime.combine(then.date() + timedelta(days=7), wanted, tzinfo=ZONE)
    return then - here


AHEAD = ahead_of(datetime.now(UTC), os.environ.get("AS_IF", ""))


def now() -> datetime:
    """The moment it is for the program and for the browser."""
    return datetime.now(UTC) + AHEAD


@dataclass(frozen=True)
class Site:
    """A running program: where it is, and the sign-in address that it printed."""

    installation: Installation
    port: int
    printed: str

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def fresh_sign_in(self) -> str:
        return self.installation.manage("sign_in", "--port", str(self.port)).strip()


@dataclass
class Visitor:
    """A page, and what it did behind the person's back."""

    page: Any
    console: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    def watch(self) -> Visitor:
        self.page.on(
            "console",
            lambda said: self.console.append(said.text) if said.type != "log" else None,
        )
        self.page.on("pageerror", lambda error: self.console.append(str(error)))
        self.page.on("request", lambda request: self.hosts.add(request.url.split("/")[2]))
        return self


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    chromium = which("chromium")
    assert chromium, "these tests need a browser: apt-get install chromium"
    # The sandbox needs a user other than root, which a build machine seldom has.
    return {**browser_type_launch_args, "executable_path": chromium, "args": ["--no-sandbox"]}


@pytest.fixture(scope="session")
def base_url() -> None:
    """Tests write whole addresses. (The plugin's own fixture warns under this pytest.)"""


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """`manage.py start --demo`, serving."""
    yield from started(tmp_path_factory.mktemp("demo"), "--demo")


@pytest.fixture(scope="session")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """`manage.py start`, serving without a house."""
    yield from started(tmp_path_factory.mktemp("bare"))


def started(folder: Path, *options: str) -> Iterator[Site]:
    clock = {"PYTHONPATH": str(CLOCK), "CLOCK_AHEAD_SECONDS": f"{AHEAD.total_seconds():.0f}"}
    installation, port = migrated(Installation(folder, clock if AHEAD else {})), free_port()
    server = installation.process("start", "manage.py", "start", "--port", str(port), *options)
    try:
        until(lambda: is_listening(port) or server.poll() is not None, "the program to answer")
        printed = re.search(r"http://\S+/sign-in/\S+/", installation.log("start"))
        assert printed, installation.log("start")
        yield Site(installation, port, printed.group())
    finally:
        installation.close()


@pytest.fixture
def new_context(new_context: Callable[..., Any]) -> Callable[..., Any]:
    """A browser of its own, whose clock agrees with the program's."""

    def made(**options: Any) -> Any:
        context = new_context(**options)
        if AHEAD:
            context.clock.install(time=now())
        return context

    return made


@pytest.fixture(scope="session")
def session(demo: Site, browser: Any) -> Any:
    """The cookies of someone who signed in to the demo house."""
    context = browser.new_context()
    page = context.new_page()
    sign_in(page, demo)
    kept = context.storage_state()
    context.close()
    return kept


@pytest.fixture
def visit(demo: Site, session: Any, new_context: Callable[..., Any]) -> Callable[..., Visitor]:
    """Open an address of the demo house, signed in, in a browser of some size and scheme."""

    def opened(path: str = "/", size: str = "phone", **options: Any) -> Visitor:
        context = new_context(storage_state=session, **{"viewport": SIZES[size], **options})
        visitor = Visitor(context.new_page()).watch()
        visitor.page.goto(f"{demo.address}{path}")
        return visitor

    return opened


def sign_in(page: Any, site: Site) -> None:
    page.goto(site.fresh_sign_in())
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{site.address}/tonight/**")
