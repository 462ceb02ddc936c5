"""Clients that go on whatever breaks, and what they were promised.

Each writes rooms one after another, with an `Idempotency-Key`, and sends the same again until it is
answered: as a phone does. Afterwards every room that was acknowledged is there once, and none is
there that was not sent.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from http.client import HTTPException
from threading import Event
from typing import Any

from celery import Celery

from tests.installation import GIVE_UP_SECONDS
from tests.services.conftest import Service

PATIENT = frozenset({0, 409, 502, 503})
"""Answers after which a client sends the same again: 0 stands for none at all."""


@dataclass
class Tally:
    """What the clients sent and heard."""

    sent: list[str] = field(default_factory=list)
    acknowledged: list[str] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    also_done: int = 0
    slowest_seconds: float = 0.0
    refused: list[str] = field(default_factory=list)

    def told(self) -> dict[str, Any]:
        return {
            "sent": len(self.sent), "acknowledged": len(self.acknowledged),
            "statuses": dict(self.statuses), "slowest_seconds": round(self.slowest_seconds, 2),
        }  # fmt: skip


def write_on(
    service: Service,
    house: dict[str, Any],
    *,
    seconds: float,
    meanwhile: Callable[[], None],
    clients: int = 4,
    also: Callable[[Service, str], int] | None = None,
    tally: Tally | None = None,
) -> Tally:
    """Let clients write for so long, and until what is done meanwhile is over.

    Args:
        meanwhile: what breaks, and is mended again.
        also: another request of each client, now and then, with a key; its status.
        tally: where to count, for whoever wants to look meanwhile.
    """
    tally = tally or Tally()
    ends, over = time.monotonic() + seconds, Event()
    stamp = f"{time.monotonic_ns():x}"

    def client(number: int) -> None:
        count = 0
        while time.monotonic() < ends or not over.is_set():
            count += 1
            name = f"{stamp}-{number}-{count}"
            tally.sent.append(name)
            body = {
                "property": house["property"], "storey": house["storey"], "name": name,
                "width_mm": 2000, "length_mm": 3000,
            }  # fmt: skip
            persist(tally, name, lambda body=body, name=name: post(service, "rooms/", body, name))
            if also is not None and count % 5 == 1:
                key = f"{name}-also"
                persist(tally, "", lambda key=key: also(service, key))
                tally.also_done += 1

    with ThreadPoolExecutor(clients) as pool:
        working = [pool.submit(client, number) for number in range(clients)]
        try:
            meanwhile()
        finally:
            over.set()
        for one in working:
            one.result()
    return tally


def persist(tally: Tally, name: str, send: Callable[[], tuple[int, str]] | Any) -> None:
    """Send again until it is answered for good."""
    gives_up = time.monotonic() + 5 * GIVE_UP_SECONDS
    while True:
        began = time.monotonic()
        status, text = send()
        tally.slowest_seconds = max(tally.slowest_seconds, time.monotonic() - began)
        tally.statuses[status] += 1
        if status in {200, 201, 202}:
            if name:
                tally.acknowledged.append(name)
            return
        if status not in PATIENT or time.monotonic() > gives_up:
            tally.refused.append(f"{status}: {text[:300]}")
            return
        time.sleep(0.1)


def post(service: Service, path: str, body: Any, key: str) -> tuple[int, str]:
    """One request; status 0 when there is no answer."""
    try:
        answer = service.post(path, body, key)
    except (OSError, HTTPException) as exc:
        return 0, str(exc)
    return answer.status, answer.text


def rooms_of(service: Service, house: dict[str, Any]) -> Counter[str]:
    """How often each room's name is there."""
    found: Counter[str] = Counter()
    page = 1
    while True:
        at = f"rooms/?property={house['property']}&page_size=200&page={page}"
        answer = service.get(at).json()
        found.update(row["name"] for row in answer["results"])
        if answer["next"] is None:
            return found
        page += 1


def nothing_lost_or_done_twice(
    service: Service, house: dict[str, Any], tally: Tally, before: Counter[str]
) -> None:
    """What was acknowledged is there once; what was sent and never acknowledged at most once."""
    there = rooms_of(service, house) - before
    lost = [name for name in tally.acknowledged if there[name] != 1]
    twice = [name for name, times in there.items() if times > 1]
    assert not tally.refused, tally.refused
    assert tally.acknowledged
    assert not lost, lost
    assert not twice, twice
    assert set(there) <= set(tally.sent)


def tell_workers(broker: str, task: str) -> None:
    """What beat sends: a message to the workers."""
    with Celery("tests", broker=broker) as app:
        app.send_task(task)
