"""Sustained mixed load on a real server, and plans a minute with 1, 2 and 4 workers.

    .venv/bin/python -m tests.benchmarks.load_mixed --minutes 10
    .venv/bin/python -m tests.benchmarks.load_mixed --minutes 10 \
        --database postgres://postgres@127.0.0.1/postgres --redis redis://127.0.0.1:6379/7
    .venv/bin/python -m tests.benchmarks.load_mixed --plans 40 --database … --redis …

The first serves as `manage.py start` does (waitress, SQLite, plans in the process), the second
as compose does: gunicorn, a worker, PostgreSQL, Redis. The Redis database is emptied first.
Clients are threads of this process; each has crews of its own and sends the next request when
its turn of `--rate` comes or the last answer is there, whichever is later. Nine of ten requests
read, one writes; beside them 5 plans a minute are asked for. An answer other than 2xx, or none, is
an error.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import random
import signal
import statistics
import sys
import tempfile
import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from math import ceil
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any

from tests.benchmarks.load_houses import database
from tests.compose import as_module, steps
from tests.installation import Installation, end, free_port, is_listening, until

CLIENTS = 8
PLANS_A_MINUTE = 5
READS = (
    (20, "week/?property={id}"), (15, "tasks/?property={id}&page_size=50"),
    (10, "boards/?floor={floor}&page_size=50"), (10, "plans/{plan}/"),
    (10, "alerts/?property={id}"), (5, "board-holds/?property={id}"), (5, "nights/?property={id}"),
    (5, "visits/?property={id}"), (5, "inspections/?property={id}"), (5, "rooms/?property={id}"),
    (5, "timber-pieces/?property={id}"), (5, "tasks/{task}/"),
)  # fmt: skip


@dataclass
class Seen:
    """What one client saw: milliseconds by kind of request, and what went wrong."""

    spent: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    errors: list[str] = field(default_factory=list)


class Client:
    """One crew's phone: a connection that is kept, and a token."""

    def __init__(self, port: int, token: str, seen: Seen) -> None:
        self.port, self.token, self.seen = port, token, seen
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)

    def ask(self, kind: str, method: str, path: str, body: Any = None) -> None:
        headers = {
            "Authorization": f"Token {self.token}", "Content-Type": "application/json",
            "Idempotency-Key": str(uuid.uuid4()),
        }  # fmt: skip
        began = monotonic()
        try:
            sent = None if body is None else json.dumps(body)
            self.line.request(method, f"/api/v1/{path}", sent, headers)
            answer = self.line.getresponse()
            text = answer.read()
        except (OSError, http.client.HTTPException) as error:
            self.seen.errors.append(f"{method} {path}: {error!r}")
            self.line.close()
            return
        self.seen.spent[kind].append((monotonic() - began) * 1000)
        if not 200 <= answer.status < 300:
            self.seen.errors.append(f"{method} {path}: {answer.status} {text[:200]!r}")


def work(port: int, crews: list[dict[str, Any]], every: float, ends: float, seen: Seen) -> None:
    """Read and write as some crews until the end."""
    chance = random.Random(crews[0]["houses"][0]["id"])
    phones = [(Client(port, crew["token"], seen), crew["houses"]) for crew in crews]
    weights, paths = zip(*READS, strict=True)
    up: set[int] = set()
    turn = monotonic() + chance.random() * every
    while turn < ends:
        sleep(max(0.0, turn - monotonic()))
        phone, houses = chance.choice(phones)
        house = chance.choice(houses)
        if chance.random() < 0.9:
            (path,) = chance.choices(paths, weights)
            phone.ask(f"GET {path.partition('/')[0]}/", "GET", path.format(**house))
        else:
            write(phone, house, chance, up)
        turn = max(turn + every, monotonic())


def write(phone: Client, house: dict[str, Any], chance: random.Random, up: set[int]) -> None:
    """A note on a task, an hour on its clock, something found, or a board up and down again."""
    now = datetime.now(UTC).isoformat()
    kind = chance.choice(("note", "time", "found", "board"))
    if kind == "note":
        phone.ask("PATCH tasks/", "PATCH", f"tasks/{house['task']}/", {"note": now})
    elif kind == "time":
        body = {"task": house["task"], "starts": now, "minutes": 1}
        phone.ask("POST time-entries/", "POST", "time-entries/", body)
    elif kind == "found":
        body = {"property": house["id"], "kind": "other", "title": "A nail", "found_at": now}
        phone.ask("POST findings/", "POST", "findings/", body)
    else:
        to_state = "fixed" if house["id"] in up else "up"
        up.symmetric_difference_update({house["id"]})
        body = {
            "boards": [house["board"]], "to_state": to_state, "moved_at": now,
            "force_reason": "Load.",
        }  # fmt: skip
        phone.ask("POST board-moves/", "POST", "board-moves/", body)


def ask_for_plans(port: int, crews: list[dict[str, Any]], ends: float, seen: Seen) -> None:
    chance = random.Random(5)
    while monotonic() < ends:
        crew = chance.choice(crews)
        body = {"property": crew["houses"][-1]["id"], "seconds": 1}
        Client(port, crew["token"], seen).ask("POST plans/", "POST", "plans/", body)
        sleep(max(0.0, min(60 / PLANS_A_MINUTE, ends - monotonic())))


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--rate", type=float, default=20, help="requests a second, all clients")
    parser.add_argument("--houses", type=int, default=200)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--plans", type=int, default=0, help="measure so many plans instead")
    parser.add_argument("--database")
    parser.add_argument("--redis", default="")
    asked = parser.parse_args()
    # So that whoever ends it early leaves no server and no database behind.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    os.environ["DJANGO_SETTINGS_MODULE"] = "renovation.settings"
    with tempfile.TemporaryDirectory() as folder, database(asked.database) as address:
        settings = {"DATABASE_URL": address, "REDIS_URL": asked.redis} if address else {}
        installation = Installation(Path(folder), settings)
        try:
            installation.manage("migrate", "--verbosity", "0")
            crews = installation.run(
                "from tests.benchmarks import many_houses\n"
                "from django.conf import settings\n"
                "settings.CELERY_TASK_ALWAYS_EAGER = True\n"
                "from renovation.celery import app\napp.conf.task_always_eager = True\n"
                f"answer = many_houses.for_clients({asked.houses})"
            )
            if asked.redis:
                installation.python("-c", EMPTY, asked.redis)
            print(f"load before: {os.getloadavg()[0]:.1f}")
            if asked.plans:
                plans_a_minute(installation, crews, asked.plans)
            else:
                mixed(installation, crews, asked)
        finally:
            installation.close()


WSGI = "renovation.wsgi:application"
EMPTY = "import sys, redis; redis.Redis.from_url(sys.argv[1]).flushdb()"


def web(installation: Installation) -> int:
    """The server as `manage.py start` serves, or as compose starts it; its port."""
    port = free_port()
    if installation.settings:
        [started] = steps("web")
        command = [*as_module(started), "--bind", f"127.0.0.1:{port}"]
    else:
        command = ["-m", "waitress", f"--listen=127.0.0.1:{port}", "--threads=8", WSGI]
    server = installation.process("web", *command)
    until(lambda: is_listening(port) or server.poll() is not None, "the server")
    assert server.poll() is None, installation.log("web")
    return port


def worker(installation: Installation, processes: int) -> Any:
    [started] = steps("worker")
    return installation.process("worker", *as_module(started), "--concurrency", str(processes))


def mixed(installation: Installation, crews: list[dict[str, Any]], asked: Any) -> None:
    port = web(installation)
    if installation.settings:
        worker(installation, asked.workers)
    seen = [Seen() for _ in range(CLIENTS + 1)]
    began = monotonic()
    ends = began + asked.minutes * 60
    every = CLIENTS / asked.rate
    threads = [
        Thread(target=work, args=(port, crews[n::CLIENTS], every, ends, seen[n]))
        for n in range(min(CLIENTS, len(crews)))
    ]
    threads.append(Thread(target=ask_for_plans, args=(port, crews, ends, seen[-1])))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lasted = monotonic() - began
    used = processor_seconds(installation)
    report(seen, lasted, used)
    for name in ("web", "worker"):
        faults = [line for line in installation.log(name).splitlines() if "Traceback" in line]
        print(f"tracebacks in the log of {name}: {len(faults)}")


def report(seen: list[Seen], lasted: float, used: float) -> None:
    spent: dict[str, list[float]] = defaultdict(list)
    for one in seen:
        for kind, times in one.spent.items():
            spent[kind] += times
    count = sum(map(len, spent.values()))
    errors = [error for one in seen for error in one.errors]
    print("request | times | p50 | p95 | longest [ms]")
    for kind, times in sorted(spent.items()):
        ordered = sorted(times)
        p95 = ordered[ceil(len(ordered) * 0.95) - 1]
        p50 = statistics.median(times)
        print(f"{kind} | {len(times)} | {p50:.0f} | {p95:.0f} | {ordered[-1]:.0f}")
    print(f"{count} requests in {lasted:.0f} s, {count / lasted:.1f}/s; {len(errors)} errors")
    print(f"{used:.0f} processor seconds, {used / count * 1000:.0f} ms a request, plans included")
    print(f"load after: {os.getloadavg()[0]:.1f}")
    print("\n".join(errors[:10]))


def plans_a_minute(installation: Installation, crews: list[dict[str, Any]], number: int) -> None:
    """Ask for plans of as many houses, then let workers come; once for 1, 2 and 4 of them."""
    port = web(installation)
    # All but the first crew's, which has the large house.
    houses = [(crew["token"], house["id"]) for crew in crews[1:] for house in crew["houses"]]
    for processes in (1, 2, 4):
        seen = Seen()
        for token, house_id in houses[:number]:
            body = {"property": house_id, "seconds": 1}
            Client(port, token, seen).ask("POST plans/", "POST", "plans/", body)
        assert not seen.errors, seen.errors[:3]
        began = monotonic()
        started = worker(installation, processes)
        wait_for_plans(installation.settings["DATABASE_URL"], number)
        lasted = monotonic() - began
        end(started)
        a_minute = number / lasted * 60
        print(f"{processes} workers: {number} plans in {lasted:.0f} s, {a_minute:.0f} a minute")
    print(f"load after: {os.getloadavg()[0]:.1f}")


def wait_for_plans(address: str, number: int) -> None:
    """Wait until all are made; at most a minute a plan."""
    import psycopg

    ends = monotonic() + 60 * number
    with psycopg.connect(address, autocommit=True) as connection:
        while connection.execute(LEFT).fetchone() != (0,):
            assert monotonic() < ends, "the workers do not get on"
            sleep(0.2)
        [failed] = connection.execute(FAILED).fetchone() or [0]
    assert not failed, f"{failed} plans failed"


LEFT = "SELECT count(*) FROM planning_plan WHERE state IN ('queued', 'solving')"
FAILED = "SELECT count(*) FROM planning_plan WHERE state = 'failed'"


def processor_seconds(installation: Installation) -> float:
    """What the server's processes and their children have used, by /proc (man 5 proc)."""
    groups = {process.pid for process in installation.started}
    ticks = 0
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[2]) in groups:
            ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    main()
