"""One chain per house, however many write at once: on PostgreSQL and on SQLite's one file."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import uuid
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import psycopg
import pytest
from psycopg import errors

from tests.installation import GIVE_UP_SECONDS, REPOSITORY, Installation

WRITERS = 8
# Each writer adds to the same house's chain, all beginning at the same moment.
THREADS = """
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from django.db import connection
from django.utils import timezone
from apps.inspections.models import Inspection
from apps.inspections.services import sign_off
from apps.pages.owner import owner_account
owner, start = owner_account(), Barrier({writers})
def write(n):
    start.wait()
    row = sign_off(inspection=Inspection.objects.get(pk={inspection}), result="accepted",
                   seen_by=f"Writer {{n}}", seen_at=timezone.now(), recorded_by=owner)
    connection.close()
    return row.number
with ThreadPoolExecutor({writers}) as pool:
    answer = sorted(pool.map(write, range({writers})))
"""
PROCESS = """
import sys, time, django
django.setup()
from django.utils import timezone
from apps.inspections.models import Inspection
from apps.inspections.services import sign_off
from apps.pages.owner import owner_account
owner, inspection = owner_account(), Inspection.objects.get(pk={inspection})
print("ready", flush=True)
sys.stdin.readline()
print(sign_off(inspection=inspection, result="accepted", seen_by="Writer {writer}",
               seen_at=timezone.now(), recorded_by=owner).number)
"""
NUMBERS = """
from apps.inspections.models import SignOff
answer = [
    [row.number, row.previous_digest, row.digest]
    for row in SignOff.objects.filter(property={property}).order_by("number")
]
"""


@pytest.fixture(params=["grown", "small"])
def service(request):
    return request.getfixturevalue(request.param)


def look(service, house):
    body = {"property": house["property"], "title": "Joist ends"}
    return service.post("inspections/", body).json()["id"]


def chain(service, house):
    return service.installation.run(NUMBERS.format(**house))


def is_one_chain(rows, length):
    """Whether the numbers run from one and each row follows the one before it."""
    follows = [before for _, before, _ in rows]
    digests = [digest for _, _, digest in rows]
    return [number for number, _, _ in rows] == list(range(1, length + 1)) and (
        follows == ["", *digests[:-1]]
    )


def test_eight_clients_at_once_make_one_chain(service):
    house = service.seed()
    inspection = look(service, house)
    start = Barrier(WRITERS)

    def send(n):
        start.wait()
        return service.post(
            "sign-offs/",
            {
                "inspection": inspection, "result": "accepted", "seen_by": f"Surveyor {n}",
                "seen_at": "2026-03-02T19:00:00Z",
            },
        )  # fmt: skip

    with ThreadPoolExecutor(WRITERS) as pool:
        answers = list(pool.map(send, range(WRITERS)))

    assert [answer.status for answer in answers] == [201] * WRITERS
    assert is_one_chain(chain(service, house), WRITERS)
    said = service.installation.manage("verify_record", "--property", str(house["property"]))
    assert f"All is well: {WRITERS} sign-offs" in said


def test_eight_threads_at_once_make_one_chain_on_postgresql(grown):
    house = grown.seed()
    inspection = look(grown, house)

    numbers = grown.installation.run(THREADS.format(writers=WRITERS, inspection=inspection))

    assert numbers == list(range(1, WRITERS + 1))
    assert is_one_chain(chain(grown, house), WRITERS)


def test_eight_processes_at_once_make_one_chain_on_sqlite(small):
    house = small.seed()
    inspection = look(small, house)
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", PROCESS.format(inspection=inspection, writer=n)],
            cwd=REPOSITORY, env=small.installation.environment, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )
        for n in range(WRITERS)
    ]  # fmt: skip
    for writer in writers:
        assert writer.stdout.readline() == "ready\n"

    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    numbers = [int(writer.communicate(timeout=GIVE_UP_SECONDS)[0]) for writer in writers]

    assert sorted(numbers) == list(range(1, WRITERS + 1))
    assert is_one_chain(chain(small, house), WRITERS)


def test_two_who_correct_the_same_row_at_once_leave_one_correction(service):
    house = service.seed()
    inspection = look(service, house)
    body = {
        "inspection": inspection, "result": "accepted", "seen_by": "A. Surveyor",
        "seen_at": "2026-03-02T19:00:00Z",
    }  # fmt: skip
    wrong = service.post("sign-offs/", body).json()["id"]
    start = Barrier(2)

    def send(n):
        start.wait()
        return service.post(
            "sign-offs/", {**body, "result": "rejected", "supersedes": wrong, "reason": "A slip"}
        )

    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(send, range(2)))

    assert sorted(answer.status for answer in answers) == [201, 409]
    assert is_one_chain(chain(service, house), 2)


def test_a_fork_is_refused_by_the_database_itself(grown, sql):
    house = grown.seed()
    grown.post(
        "sign-offs/",
        {
            "inspection": look(grown, house), "result": "accepted", "seen_by": "A. Surveyor",
            "seen_at": "2026-03-02T19:00:00Z",
        },
    )  # fmt: skip

    columns = (
        "version, property_id, inspection_id, result, seen_by, seen_at, note, reason, stated, "
        "recorded_by_id, recorded_at, previous_digest"
    )
    with pytest.raises(errors.UniqueViolation, match="sign_off_number_once_per_property"):
        sql.execute(
            f"INSERT INTO inspections_signoff (number, digest, {columns}) SELECT 1,"
            f" repeat('f', 64), {columns} FROM inspections_signoff WHERE property_id = %s",
            [house["property"]],
        )


@pytest.fixture
def own_database(postgres):
    """The address of an empty PostgreSQL database of one test's own."""
    return postgres.database(f"before_the_chain_{uuid.uuid4().hex[:8]}")


OLD_ROWS = """
INSERT INTO inspections_signoff
  (version, inspection_id, result, seen_by, seen_at, note, recorded_by_id, recorded_at)
VALUES (1, {inspection}, 'accepted', 'A. Surveyor', '2026-03-02 19:00:00', '', {owner},
        '2026-03-02 20:00:00')
"""
UNTIL_THEN = """
from django.core.management import call_command
for until in (["auth"], ["property"], ["inspections", "0002"]):
    call_command("migrate", *until, verbosity=0)
"""
OLD_HOUSE = """
from apps.pages.owner import owner_account
from django.db import connection
owner = owner_account()
with connection.cursor() as cursor:
    cursor.execute(
        "INSERT INTO property_property (version, name, address, timezone, country, subdivision,"
        " work_on_bank_holidays, loud_work_hours, outdoor_work_hours)"
        " VALUES (1, 'Old', '', 'Europe/London', 'GB', 'ENG', true, '[]', '[]')"
    )
    cursor.execute(
        "INSERT INTO inspections_inspection (version, title, \\"by\\", state, minutes,"
        " notice_working_days, visiting_from, visiting_to, reference, note, property_id)"
        " SELECT 1, 'Joist ends', 'building_control', 'accepted', 30, 1, '09:00', '16:00', '',"
        " '', id FROM property_property"
    )
    cursor.execute("SELECT id FROM inspections_inspection")
    answer = {"inspection": cursor.fetchone()[0], "owner": owner.pk}
"""


@pytest.mark.parametrize("database", ["PostgreSQL", "SQLite"])
def test_sign_offs_from_before_the_chain_are_linked_and_sealed(tmp_path, own_database, database):
    settings = {"DATABASE_URL": own_database} if database == "PostgreSQL" else {}
    old = Installation(tmp_path, settings)
    old.run(UNTIL_THEN)
    kept = old.run(OLD_HOUSE)
    add = OLD_ROWS.format(**kept)
    old.run(
        "from django.db import connection\nwith connection.cursor() as cursor:\n"
        f"    for _ in range(2): cursor.execute('''{add}''')"
    )

    old.manage("migrate", "-v", "0")

    assert "All is well: 2 sign-offs" in old.manage("verify_record")
    altered = "UPDATE inspections_signoff SET note = 'x'"
    if database == "PostgreSQL":
        with (
            psycopg.connect(own_database, autocommit=True) as connection,
            pytest.raises(errors.IntegrityConstraintViolation, match="append-only"),
        ):
            connection.execute(altered)
    else:
        file = sqlite3.connect(tmp_path / "data" / "lifted-boards.sqlite3")
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            file.execute(altered)
        file.close()


def test_a_record_that_was_altered_ends_the_command_with_one(small):
    house = small.seed()
    inspection = look(small, house)
    # An inspection that says it was accepted, and no sign-off that says so.
    small.installation.run(
        "from apps.inspections.models import Inspection\n"
        f"Inspection.objects.filter(pk={inspection}).update(state='accepted')"
    )

    done = subprocess.run(
        [sys.executable, "manage.py", "verify_record", "--property", str(house["property"])],
        cwd=REPOSITORY, env=small.installation.environment, capture_output=True, text=True,
        check=False,
    )  # fmt: skip

    assert done.returncode == 1
    assert f"Inspection {inspection}" in done.stderr
