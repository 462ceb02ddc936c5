"""Whole installations on real services: PostgreSQL, Redis, workers, several web processes.

Each is made by the program's own commands in a database of its own, and asked over the
network like any other client. A missing service fails these tests; nothing is skipped.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import psycopg
import pytest

from tests.installation import Answer, Installation, ask, end, free_port, is_listening, until

SERVER = (
    os.environ.get("TEST_DATABASE_URL")
    or os.environ.get("DATABASE_URL")
    or "postgres://postgres@127.0.0.1:5432/test"
)
BROKER = os.environ.get("REDIS_URL") or "redis://127.0.0.1:6379/9"
SEEDS = 8
SEED = f"from tests.services import seed; answer = [seed.house() for _ in range({SEEDS})]"
WEB_PROCESSES = 4


@dataclass
class Service:
    """One running installation: its address, its owner's token, and houses made ahead."""

    installation: Installation
    address: str
    token: str
    houses: list[dict[str, Any]] = field(default_factory=list)

    def get(self, path: str) -> Answer:
        return ask(f"{self.address}/api/v1/{path}", token=self.token)

    def post(self, path: str, body: Any, key: str = "") -> Answer:
        headers = [("Idempotency-Key", key)] if key else []
        return ask(f"{self.address}/api/v1/{path}", token=self.token, body=body, headers=headers)

    def patch(self, path: str, body: Any, etag: str) -> Answer:
        return ask(
            f"{self.address}/api/v1/{path}", token=self.token, body=body, method="PATCH",
            headers=[("If-Match", etag)],
        )  # fmt: skip

    def seed(self) -> dict[str, Any]:
        """A small house of its own for one test; its ids."""
        self.houses = self.houses or self.installation.run(SEED)
        return self.houses.pop()


@pytest.fixture(scope="session")
def database() -> Iterator[str]:
    """The address of an empty PostgreSQL database, dropped afterwards."""
    name = f"lifted_boards_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(SERVER, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
    yield urlunsplit(urlsplit(SERVER)._replace(path=f"/{name}"))
    with psycopg.connect(SERVER, autocommit=True) as server:
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def grown(database: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """PostgreSQL, Redis and several web processes; workers are each test's own affair."""
    folder = tmp_path_factory.mktemp("grown")
    installation = Installation(folder, {"DATABASE_URL": database, "REDIS_URL": BROKER})
    # An earlier run may have left messages about a database that is gone.
    installation.python("-m", "celery", "-A", "renovation", "purge", "-f")
    yield from served(installation)


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """SQLite and no broker, but several web processes on the one file."""
    yield from served(Installation(tmp_path_factory.mktemp("small")))


def served(installation: Installation) -> Iterator[Service]:
    installation.manage("start", "--no-serve", "--no-plan")
    token = installation.manage("token").strip()
    port = free_port()
    web = installation.process(
        "web", "-m", "gunicorn", "renovation.wsgi:application", "--bind", f"127.0.0.1:{port}",
        "--workers", str(WEB_PROCESSES), "--threads", "2", "--worker-tmp-dir", "/dev/shm",
        "--timeout", "120",
    )  # fmt: skip
    service = Service(installation, f"http://127.0.0.1:{port}", token)
    try:
        until(lambda: is_listening(port) or web.poll() is not None, "the web processes")
        first = service.get("properties/")
        assert first.status == 200, f"{first.text}\n{installation.log('web')}"
        yield service
    finally:
        installation.close()


@pytest.fixture
def worker(grown: Service) -> Iterator[Any]:
    """Start a worker with so many processes; it ends with the test."""
    started = []

    def start(processes: int = 1) -> Any:
        name = f"worker-{uuid.uuid4().hex[:8]}"
        process = grown.installation.process(
            name, "-m", "celery", "-A", "renovation", "worker", "--loglevel", "INFO",
            "--concurrency", str(processes), "--hostname", f"{name}@here", "--without-mingle",
            "--without-gossip", "--prefetch-multiplier", "1",
        )  # fmt: skip
        started.append(process)
        until(
            lambda: "ready." in grown.installation.log(name) or process.poll() is not None,
            "a worker to be ready",
        )
        assert process.poll() is None, grown.installation.log(name)
        return process

    yield start
    for process in started:
        end(process)


@pytest.fixture
def sql(database: str) -> Iterator[psycopg.Connection[Any]]:
    """A plain connection to the grown installation's database."""
    with psycopg.connect(database, autocommit=True) as connection:
        yield connection
