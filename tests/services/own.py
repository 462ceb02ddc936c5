"""PostgreSQL and Redis servers of the tests' own, to be stopped and started as a test likes.

In a temporary folder, on free ports of this machine's loopback; whatever else runs here is left
alone. Data files are not synced: processes are killed, the machine is not.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import redis

from tests.installation import free_port, until


def newest_postgresql() -> Path:
    """The folder of its programs."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name)
    )
    on_path = shutil.which("initdb")
    assert found or on_path, "no PostgreSQL server is installed"
    return found[-1] if found else Path(on_path or "").resolve().parent


def as_postgres(*command: str) -> None:
    """Run to its end; as root under the account that the server insists on."""
    who = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run([*who, *command], cwd="/", capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command}: {done.stdout}{done.stderr}"


@dataclass
class OwnPostgres:
    """A cluster of the tests' own."""

    folder: Path
    port: int = 0

    def make(self) -> OwnPostgres:
        self.port = free_port()
        self.folder.mkdir(parents=True)
        if os.geteuid() == 0:
            shutil.chown(self.folder, "postgres")
        self.run(
            "initdb", "-U", "postgres", "--auth", "trust", "--encoding", "UTF8", "--locale",
            "C.UTF-8", "--no-sync",
        )  # fmt: skip
        self.start()
        return self

    def run(self, program: str, *words: str) -> None:
        as_postgres(str(newest_postgresql() / program), "-D", str(self.folder / "data"), *words)

    def start(self) -> None:
        settings = (
            f"-c listen_addresses=127.0.0.1 -c port={self.port} -c unix_socket_directories=''"
            " -c fsync=off -c max_connections=200"
        )
        self.run(
            "pg_ctl", "-w", "-t", "60", "-l", str(self.folder / "log"), "-o", settings, "start"
        )

    def stop(self, how: str = "fast") -> None:
        """`fast` ends every connection; `immediate` is a crash, recovered from at start."""
        self.run("pg_ctl", "-w", "-m", how, "stop")

    def address(self, name: str) -> str:
        return f"postgres://postgres@127.0.0.1:{self.port}/{name}"

    def database(self, name: str) -> str:
        """A new empty database; its address."""
        with psycopg.connect(self.address("postgres"), autocommit=True) as server:
            server.execute(f"CREATE DATABASE {name}")
        return self.address(name)


@dataclass
class OwnRedis:
    """A Redis of the tests' own that keeps nothing on disk: a restart loses every message."""

    folder: Path
    port: int = 0
    process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> OwnRedis:
        self.port = self.port or free_port()
        self.folder.mkdir(parents=True, exist_ok=True)
        self.process = subprocess.Popen(
            ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--save", "",
             "--appendonly", "no", "--dir", str(self.folder)],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        until(self.answers, "Redis to answer")
        return self

    def answers(self) -> Any:
        try:
            with redis.Redis(port=self.port) as client:
                return client.ping()
        except redis.ConnectionError:
            return False

    def stop(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None
