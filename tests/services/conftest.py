"""Whole installations on real services: PostgreSQL, Redis, workers, several web processes.

Each is made by the program's own commands in a database of its own, and asked over the network
like any other client. The servers are the tests' own (`own.py`), so that a test may stop them; the
processes are those that docker-compose.yml starts. A missing program fails these tests; nothing is
skipped.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.compose import as_module, steps
from tests.installation import Answer, Installation, ask, end, free_port, is_listening, until
from tests.migrated import migrated
from tests.services.own import OwnPostgres, OwnRedis

SEEDS = 8
SEED = f"from tests.services import seed; answer = [seed.house() for _ in range({SEEDS})]"
WEB_PROCESSES = 4
LONG = bool(os.environ.get("LONG_FAULTS"))
"""By hand: many more times, and for as long as the table in docs/reliability.md says."""


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
def servers() -> Iterator[Path]:
    """A folder that the account of PostgreSQL may enter."""
    folder = Path(tempfile.mkdtemp(prefix="servers-"))
    folder.chmod(0o711)
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres(servers: Path) -> Iterator[OwnPostgres]:
    made = OwnPostgres(servers / "postgresql").make()
    yield made
    made.stop("immediate")


@pytest.fixture(scope="session")
def own_redis(servers: Path) -> Iterator[OwnRedis]:
    made = OwnRedis(servers / "redis").start()
    yield made
    made.stop()


@pytest.fixture(scope="session")
def database(postgres: OwnPostgres) -> str:
    """The address of the grown installation's database."""
    return postgres.database("grown")


@pytest.fixture(scope="session")
def grown(
    database: str, own_redis: OwnRedis, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Service]:
    """PostgreSQL, Redis and several web processes; workers are each test's own affair."""
    settings = {"DATABASE_URL": database, "REDIS_URL": own_redis.address}
    yield from served(Installation(tmp_path_factory.mktemp("grown"), settings))


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """SQLite and no broker, but several web processes on the one file."""
    yield from served(migrated(Installation(tmp_path_factory.mktemp("small"))))


def web_process(
    installation: Installation, name: str = "web", processes: int = WEB_PROCESSES
) -> str:
    """Start what compose starts as `web`, on this machine's loopback only; its address."""
    port = free_port()
    words = steps("web")[0]
    # gunicorn listens on every address it is given: here this one takes the place of compose's.
    words[words.index("--bind") + 1] = f"127.0.0.1:{port}"
    process = installation.process(
        name, *as_module(words), "--workers", str(processes), "--threads", "2",
        "--worker-tmp-dir", "/dev/shm", "--timeout", "120",
    )  # fmt: skip
    until(lambda: is_listening(port) or process.poll() is not None, "the web processes")
    assert process.poll() is None, installation.log(name)
    return f"http://127.0.0.1:{port}"


def served(installation: Installation) -> Iterator[Service]:
    for step in steps("setup"):
        installation.python(*as_module(step))
    token = installation.manage("token").strip()
    service = Service(installation, "", token)
    try:
        service.address = web_process(installation)
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
            name, *as_module(steps("worker")[0]), "--concurrency", str(processes),
            "--hostname", f"{name}@here", "--without-mingle", "--without-gossip",
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
