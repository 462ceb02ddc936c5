"""Houses taken out and brought in over the network, by workers on PostgreSQL and within a request
on SQLite; and a worker that dies while one comes in."""

from __future__ import annotations

import hashlib
import signal
import uuid
from urllib.request import Request, urlopen

import psycopg

from tests.installation import GIVE_UP_SECONDS, Answer, end, until
from tests.services.faults import tell_workers

SIGNED = """
from apps.pages.owner import owner_account
from apps.property.models import Property
from tests import factories
from tests.services import seed
answer = seed.house()["property"]
look = factories.InspectionFactory(property=Property.objects.get(pk=answer))
factories.SignOffFactory(inspection=look, recorded_by=owner_account())
look.change(state="accepted")
"""
TOLD = """
from apps.inspections.models import SignOff
from apps.inspections.verify import first_trouble
from apps.moving.rows import in_house, rows_of_house
from apps.property.models import Property
house = Property.objects.get(pk={pk})
answer = {{
    "trouble": first_trouble(house),
    "digests": list(SignOff.objects.filter(property=house).values_list("digest", flat=True)),
    "rows": {{m._meta.label: rows_of_house(m, house).count() for m in in_house()}},
}}
"""
WAITING_FOR_A_LOCK = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND wait_event_type = 'Lock'
"""
A_WHILE = """
UPDATE moving_housearrival SET progressed_at = progressed_at - interval '10 minutes' WHERE id = %s
"""


def told(service, pk):
    return service.installation.run(TOLD.format(pk=pk))


def fetched(service, path):
    request = Request(f"{service.address}/api/v1/{path}")
    request.add_header("Authorization", f"Token {service.token}")
    with urlopen(request, timeout=GIVE_UP_SECONDS) as response:
        return response.read()


def sent(service, content):
    boundary = uuid.uuid4().hex
    head = (
        f'--{boundary}\r\nContent-Disposition: form-data; name="file"; filename="a.house"\r\n'
        "Content-Type: application/zip\r\n\r\n"
    )
    body = head.encode() + content + f"\r\n--{boundary}--\r\n".encode()
    request = Request(f"{service.address}/api/v1/house-arrivals/", data=body)
    request.add_header("Authorization", f"Token {service.token}")
    request.add_header("Content-Type", f"multipart/form-data; boundary={boundary}")
    with urlopen(request, timeout=GIVE_UP_SECONDS) as response:
        return Answer(response.status, response.headers, response.read().decode())


def ended(service, path):
    row = service.get(path).json()
    return row if row["state"] not in {"queued", "working"} else None


def asked(service):
    """A signed-off house, and the row of its file that was asked for."""
    house = service.installation.run(SIGNED)
    return house, service.post("house-files/", {"property": house}).json()


def file_of(service, row):
    """The file of a row, once it is made."""
    path = f"house-files/{row['id']}/"
    made = until(lambda: ended(service, path), "the file")
    assert made["state"] == "ready", made
    found = fetched(service, f"{path}file/")
    assert hashlib.sha256(found).hexdigest() == made["sha256"]
    return found


def test_a_house_goes_from_postgresql_to_sqlite_and_its_chain_holds(grown, small, worker):
    house, row = asked(grown)
    assert row["state"] == "queued"
    worker()

    there = sent(small, file_of(grown, row))

    assert (there.status, there.json()["state"]) == (201, "ready"), there.text
    before = told(grown, house)
    assert before["digests"]
    assert before["trouble"] is None
    assert told(small, there.json()["property"]) == before


def test_one_from_sqlite_whose_worker_is_killed_comes_in_once_by_another(
    grown, small, sql, database, own_redis, worker
):
    house, row = asked(small)
    count = "SELECT count(*) FROM property_property"
    before = sql.execute(count).fetchone()[0]
    killed = worker()
    with psycopg.connect(database) as holder:
        # Until this ends nobody adds a house.
        holder.execute("LOCK TABLE property_property IN SHARE MODE")
        arrival = sent(grown, file_of(small, row)).json()["id"]
        until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 1, "the house to come in")
        end(killed, signal.SIGKILL)
    until(lambda: sql.execute(WAITING_FOR_A_LOCK).fetchone()[0] == 0, "the lock to be free")
    assert grown.get(f"house-arrivals/{arrival}/").json()["state"] == "working"

    sql.execute(A_WHILE, [arrival])
    worker()
    tell_workers(own_redis.address, "apps.moving.tasks.requeue_left_houses")
    came = until(lambda: ended(grown, f"house-arrivals/{arrival}/"), "the house")

    assert came["state"] == "ready", came
    assert sql.execute(count).fetchone()[0] == before + 1
    assert told(grown, came["property"]) == told(small, house)
    folder = grown.installation.folder / "data" / "house-arrivals"
    until(lambda: not list(folder.iterdir()), "what was sent to be removed")
