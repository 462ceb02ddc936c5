"""How long every list and the week take with many houses, and what a house weighs.

    .venv/bin/python -m tests.benchmarks.load_houses [--database postgres://postgres@127.0.0.1/postgres]

200 houses of demo size, four to a crew, and one of 2,000 tasks and 5,000 boards for the first
crew. With `--database` a database of its own is made on that server and dropped afterwards. Each
address is asked in this process, without a network, `--times` times after eight that do not
count, by the first crew (five houses, the large one among them) for 50 rows. What is computed
for one house is asked for houses in turn, and for the large one.
"""

from __future__ import annotations

import argparse
import os
import signal
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import cycle
from math import ceil
from time import perf_counter, process_time
from typing import Any
from urllib.parse import urlsplit, urlunsplit

ROWS, WARM = 50, 8
LIST_MS, WEEK_MS = 60, 80
COMPUTED = ("week", "board-holds", "alerts", "nights")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--houses", type=int, default=200)
    parser.add_argument("--times", type=int, default=60)
    parser.add_argument("--database", help="a PostgreSQL server; without it SQLite")
    asked = parser.parse_args()
    # So that whoever ends it early leaves no server and no database behind.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    with tempfile.TemporaryDirectory() as folder, database(asked.database) as address:
        for name in [name for name in os.environ if name.startswith("LIFTED_BOARDS_")]:
            del os.environ[name]
        os.environ |= {
            "LIFTED_BOARDS_DATA": folder,
            "DATABASE_URL": address,
            "REDIS_URL": "",
            "DJANGO_SETTINGS_MODULE": "renovation.settings",
        }
        import django

        django.setup()
        measure(asked.houses, asked.times)


@contextmanager
def database(server: str | None) -> Iterator[str]:
    """The address of an empty PostgreSQL database, dropped afterwards; empty for SQLite."""
    if server is None:
        yield ""
        return
    import psycopg

    name = f"load_houses_{os.getpid()}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    try:
        yield urlunsplit(urlsplit(server)._replace(path=f"/{name}"))
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


def measure(houses: int, times: int) -> None:
    # The settings are made above, so Django is loaded only now.
    from django.core.cache import cache
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client

    from renovation.tokens import make_token
    from renovation.urls import router
    from tests.benchmarks import many_houses

    call_command("migrate", verbosity=0)
    began, sizes = perf_counter(), [bytes_used()]
    made = many_houses.build(houses, after_each_step=lambda: sizes.append(bytes_used()))
    print(f"{connection.vendor}, load {os.getloadavg()[0]:.1f}, {times} times each")
    print(f"built {houses} houses and a large one in {perf_counter() - began:.0f} s")
    weigh(made, houses, sizes)
    print(f"the demo house's plan, effort 1: {made['plan_seconds']:.1f} s of processor")

    _, secret = make_token(user=made["crews"][0], name="load", days=1)
    client = Client(SERVER_NAME="127.0.0.1", headers={"authorization": f"Token {secret}"})
    slow: list[str] = []

    def ask(name: str, limit: int, addresses: list[str], first: Callable[[], Any] = int) -> None:
        spent, processor, size = timed(client, cycle(addresses), times, first)
        p50, p95 = statistics.median(spent), sorted(spent)[ceil(len(spent) * 0.95) - 1]
        if p95 > limit:
            slow.append(name)
        print(f"{name} | {size / 1000:.1f} | {p50:.1f} | {p95:.1f} | {processor:.1f}")

    print("address | answer [kB] | p50 | p95 | processor [ms]")
    own = [made["demo"], *made["copies"][: many_houses.HOUSES_A_CREW - 1]]
    for prefix in COMPUTED:
        limit = WEEK_MS if prefix == "week" else LIST_MS
        rows = "" if prefix == "week" else f"&page_size={ROWS}"
        paths = [f"/api/v1/{prefix}/?property={pk}{rows}" for pk in own]
        large = [f"/api/v1/{prefix}/?property={made['large']}{rows}"]
        ask(prefix, limit, paths)
        ask(f"{prefix}, the large house", limit, large)
        ask(f"{prefix}, nothing kept", 10**6, paths, cache.clear)
    for prefix, viewset, _ in router.registry:
        if {"list", "retrieve"} <= set(dir(viewset)):
            ask(prefix, LIST_MS, [f"/api/v1/{prefix}/?page_size={ROWS}"])
    print(f"over the limit: {', '.join(slow) or 'none'}")
    used = many_houses.plan_seconds(made["large"], made["crews"][0])
    print(f"the large house's plan, effort 1: {used:.1f} s of processor")


def timed(
    client: Any, addresses: Iterator[str], times: int, first: Callable[[], Any]
) -> tuple[list[float], float, int]:
    """Milliseconds of each request, processor milliseconds of one, and the bytes of an answer."""
    spent, processor, size = [], 0.0, 0
    for count in range(times + WARM):
        first()
        began, used = perf_counter(), process_time()
        answer = client.get(next(addresses))
        assert answer.status_code == 200, answer.text
        if count >= WARM:
            spent.append((perf_counter() - began) * 1000)
            processor += (process_time() - used) * 1000
            size = max(size, len(answer.content))
    return spent, processor / times, size


def weigh(made: dict[str, Any], houses: int, sizes: list[int]) -> None:
    """What the houses take in the database, by how it grew."""
    from tests.benchmarks.many_houses import rows_by_kind

    _, first, copies, large = sizes
    taken = {"demo": (copies - first) / max(1, houses - 1), "large": large - copies}
    for name, size in taken.items():
        rows = rows_by_kind(made[name])
        most = ", ".join(f"{kind.split('.')[1]} {count}" for kind, count in list(rows.items())[:6])
        print(f"{name} house: {sum(rows.values())} rows, {size / 1000:.0f} kB ({most})")


def bytes_used() -> int:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(SIZE[connection.vendor])
        return int(cursor.fetchone()[0])


SIZE = {
    "sqlite": "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()",
    "postgresql": "SELECT pg_database_size(current_database())",
}

if __name__ == "__main__":
    main()
