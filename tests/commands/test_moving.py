"""`backup`, `restore`, `export_house`, `import_house` of `manage.py`, as a stranger runs them."""

from __future__ import annotations

import hashlib
import io
import json
import resource
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from shutil import copytree

import pytest

from apps.moving.archive import SEAL, SEAL_BYTES
from tests.installation import REPOSITORY, Installation, until

WRITERS = 4
# Each round is one transaction whose rows only make sense together.
WRITER = """
import sys, time, django
django.setup()
from datetime import timedelta
from pathlib import Path
from django.db import transaction
from django.utils import timezone
from apps.inspections.models import Inspection
from apps.inspections.services import sign_off
from apps.pages.owner import owner_account
from apps.property.models import Property
from apps.work.models import Task, TimeEntry
name, stop = sys.argv[1], Path(sys.argv[2])
house, owner = Property.objects.first(), owner_account()
task = Task.objects.filter(package__property=house).first()
ends, rounds = time.monotonic() + 120, 0
while not stop.exists() and time.monotonic() < ends:
    with transaction.atomic():
        look = Inspection.objects.create(property=house, title=f"{name} {rounds}")
        sign_off(inspection=look, result="accepted", seen_by=name, seen_at=timezone.now(),
                 recorded_by=owner)
        entry = TimeEntry.objects.create(task=task, starts=timezone.now(), minutes=30,
                                         noted_by=owner, note=name)
        TimeEntry.objects.create(task=task, starts=timezone.now(), minutes=-30, noted_by=owner,
                                 takes_back=entry, note=name)
    rounds += 1
    print(rounds, flush=True)
    # SQLite's lock is not handed out in turn: who takes it again at once starves the others.
    time.sleep(0.05)
"""
SOUND = """
from django.db.models import Sum, Count
from apps.inspections.models import Inspection, SignOff
from apps.work.models import TimeEntry
names = [f"writer{n}" for n in range(4)]
answer = {
    "looks": Inspection.objects.filter(title__startswith="writer").count(),
    "signed": SignOff.objects.filter(seen_by__in=names).count(),
    "unsigned": Inspection.objects.filter(title__startswith="writer")
        .exclude(state="accepted").count(),
    "minutes": TimeEntry.objects.filter(note__in=names).aggregate(sum=Sum("minutes"))["sum"],
    "taken_back": TimeEntry.objects.filter(note__in=names, minutes=-30).count(),
}
"""


@pytest.fixture(scope="module")
def lived_in(demo, tmp_path_factory):
    """The demo house, and a backup of it."""
    made = Installation(tmp_path_factory.mktemp("lived-in"))
    copytree(demo.installation.folder / "data", made.folder / "data")
    made.manage("backup", str(made.folder / "demo.backup"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def restored(lived_in, tmp_path_factory):
    """Another installation that the backup was restored into."""
    made = Installation(tmp_path_factory.mktemp("restored"))
    made.manage("restore", str(lived_in.folder / "demo.backup"))
    return made


def refused(installation, *command, **how):
    """What a command says that ends with exit status 1."""
    done = subprocess.run(
        [sys.executable, "manage.py", *command], cwd=REPOSITORY, env=installation.environment,
        capture_output=True, text=True, check=False, **how,
    )  # fmt: skip
    assert done.returncode == 1, done.stdout + done.stderr
    return done.stderr


def rows_of(path):
    with zipfile.ZipFile(path) as zipped:
        return {
            name: zipped.read(name)
            for name in zipped.namelist()
            if name != "manifest.json" and "RememberedAnswer" not in name
        }


def everything_in(installation):
    """Every file of the data folder; of the database its rows, as it may fold its log in."""
    data = installation.folder / "data"
    with closing(sqlite3.connect(data / "lifted-boards.sqlite3")) as database:
        rows = list(database.iterdump())
    files = {
        path.relative_to(data): path.read_bytes()
        for path in data.rglob("*")
        if path.is_file() and "sqlite3" not in path.name
    }
    return rows, files


def test_what_is_restored_is_what_was_backed_up(lived_in, restored, tmp_path):
    again = tmp_path / "again.backup"

    restored.manage("backup", str(again))

    assert rows_of(again) == rows_of(lived_in.folder / "demo.backup")
    assert "All is well" in restored.manage("verify_record")


def test_logs_are_protected_after_it_and_ids_go_on(lived_in, restored):
    with closing(sqlite3.connect(restored.folder / "data" / "lifted-boards.sqlite3")) as database:
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        for table in ("inspections_signoff", "work_timeentry", "floors_boardmove"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                database.execute(f"DELETE FROM {table}")
        highest = dict(database.execute("SELECT name, seq FROM sqlite_sequence"))
    with zipfile.ZipFile(lived_in.folder / "demo.backup") as zipped:
        told = json.loads(zipped.read("manifest.json"))
    assert highest["work_task"] == told["next_ids"]["work.Task"]


def test_a_backup_has_no_secret_unless_asked(lived_in, tmp_path):
    secret = (lived_in.folder / "data" / "secret-key").read_bytes()
    with zipfile.ZipFile(lived_in.folder / "demo.backup") as zipped:
        assert all(secret not in zipped.read(name) for name in zipped.namelist())

    lived_in.manage("backup", str(tmp_path / "with.backup"), "--with-secret-key")

    with zipfile.ZipFile(tmp_path / "with.backup") as zipped:
        assert zipped.read("secret-key") == secret
    assert (tmp_path / "with.backup").stat().st_mode & 0o077 == 0


def test_a_record_is_only_replaced_when_asked_and_then_kept_aside(lived_in, restored):
    backup = str(lived_in.folder / "demo.backup")
    restored.run("from apps.property.models import Property\nProperty.objects.update(name='Mine')")
    a_house = restored.folder / "data" / "house-files" / "1.house"
    a_house.parent.mkdir()
    a_house.write_bytes(b"of a row that is another's by then")
    before = everything_in(restored)

    assert "--replace" in refused(restored, "restore", backup)
    assert everything_in(restored) == before

    said = restored.manage("restore", backup, "--replace")

    (aside,) = (restored.folder / "data").glob("set-aside-*")
    assert str(aside) in said
    with closing(sqlite3.connect(aside / "lifted-boards.sqlite3")) as database:
        assert database.execute("SELECT name FROM property_property").fetchall() == [("Mine",)]
    assert sorted(path.name for path in (aside / "evidence").rglob("*") if path.is_file())
    assert not a_house.exists()
    assert (aside / "house-files" / "1.house").exists()
    names = "from apps.property.models import Property\nanswer = Property.objects.get().name"
    assert restored.run(names) == "14 Tidemill Lane"
    assert "All is well" in restored.manage("verify_record")
    assert not list((restored.folder / "data").glob("restoring-*"))


def test_a_damaged_backup_is_refused_before_anything_is_written(lived_in, restored, tmp_path):
    content = bytearray((lived_in.folder / "demo.backup").read_bytes())
    content[len(content) // 2] ^= 1
    damaged = tmp_path / "damaged.backup"
    damaged.write_bytes(content)
    before = everything_in(restored)

    assert "damaged or was changed" in refused(restored, "restore", str(damaged), "--replace")
    assert everything_in(restored) == before


def test_nothing_is_replaced_under_a_running_program(lived_in, restored):
    path = restored.folder / "data" / "lifted-boards.sqlite3"
    with closing(sqlite3.connect(path)) as running:
        running.execute("PRAGMA journal_mode=WAL")
        running.execute("SELECT * FROM property_property").fetchall()

        said = refused(restored, "restore", str(lived_in.folder / "demo.backup"), "--replace")

    assert "stop it first" in said


def test_a_backup_that_does_not_fit_leaves_nothing_and_the_old_one_stays(lived_in, tmp_path):
    path = tmp_path / "small.backup"
    path.write_bytes(b"the last one")

    def little_room():
        # Room for what SQLite writes beside its file to read it, and not for the backup.
        resource.setrlimit(resource.RLIMIT_FSIZE, (65_536, 65_536))

    said = refused(lived_in, "backup", str(path), "--replace", preexec_fn=little_room)

    assert "nothing was left behind" in said
    assert path.read_bytes() == b"the last one"
    assert [one.name for one in tmp_path.iterdir()] == ["small.backup"]


def test_a_backup_is_not_written_over_another_by_mistake(lived_in):
    assert "--replace" in refused(lived_in, "backup", str(lived_in.folder / "demo.backup"))


def test_made_while_four_write_it_is_of_one_instant(lived_in, tmp_path):
    writing = Installation(tmp_path / "writing")
    copytree(lived_in.folder / "data", writing.folder / "data")
    stop = tmp_path / "stop"
    for n in range(WRITERS):
        writing.process(f"writer{n}", "-c", WRITER, f"writer{n}", str(stop))
    try:
        until(lambda: all(writing.log(f"writer{n}") for n in range(WRITERS)), "all to write")
        before = rounds(writing)
        writing.manage("backup", str(tmp_path / "busy.backup"))
        after = rounds(writing)
    finally:
        stop.touch()
        for process in writing.started:
            process.wait(60)
    assert after > before, "nobody waited for the backup"
    there = Installation(tmp_path / "there")
    there.folder.mkdir()

    there.manage("restore", str(tmp_path / "busy.backup"))

    found = there.run(SOUND)
    assert before <= found["looks"] <= after + WRITERS
    assert found["signed"] == found["looks"] == found["taken_back"]
    assert (found["unsigned"], found["minutes"]) == (0, 0)
    assert "All is well" in there.manage("verify_record")
    with closing(sqlite3.connect(there.folder / "data" / "lifted-boards.sqlite3")) as database:
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []


def rounds(installation):
    logs = [installation.log(f"writer{n}").split() for n in range(WRITERS)]
    assert all(word.isdigit() for log in logs for word in log), logs
    return sum(int(log[-1]) for log in logs)


# What came with inspections 0007 and 0008: an archive of a program before them has none of it.
LATER = ("0007_as_signed", "0008_jobs")
LATER_COLUMNS = {
    "inspections.SignOff": {"as_signed"},
    "inspections.CompletionFile": {"claimed_at", "handed_out_at"},
}


def made_older(path):
    """The same archive as a program before some migrations would have written it."""
    with zipfile.ZipFile(path) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}
    told = json.loads(members.pop("manifest.json"))
    names = told["migrations"]["inspections"]
    told["migrations"]["inspections"] = [name for name in names if name not in LATER]
    for table in told["tables"]:
        gone = LATER_COLUMNS.get(table["model"], set())
        table["columns"] = [name for name in table["columns"] if name not in gone]
        name = f"rows/{table['model']}.jsonl"
        rows = [json.loads(line) for line in members[name].splitlines()]
        kept = [{key: row[key] for key in table["columns"]} for row in rows]
        members[name] = b"".join(json.dumps(row).encode() + b"\n" for row in kept)
    for one in told["members"]:
        content = members[one["name"]]
        one |= {"byte_size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as zipped:
        for name, content in members.items():
            zipped.writestr(name, content)
        zipped.writestr("manifest.json", json.dumps(told))
        zipped.comment = SEAL + b"0" * 64
    body = file.getvalue()[:-SEAL_BYTES]
    path.write_bytes(body + SEAL + hashlib.sha256(body).hexdigest().encode())


def test_a_house_of_an_older_program_is_taken_through_the_migrations_since(
    lived_in, restored, tmp_path
):
    path = tmp_path / "older.house"
    lived_in.manage("export_house", "1", str(path))
    made_older(path)

    said = restored.manage("import_house", str(path))

    assert "2 sign-offs are what was recorded" in said
    assert "All is well" in restored.manage("verify_record")


SENT = """
from pathlib import Path
from django.core.files.uploadedfile import SimpleUploadedFile
from apps.inspections.verify import first_trouble
from apps.moving.arriving import request_arrival
from apps.pages.owner import owner_account
file = SimpleUploadedFile("older.house", Path({path!r}).read_bytes())
row = request_arrival(file=file, requested_by=owner_account())
row.refresh_from_db()
answer = [row.state, row.failure, row.property and first_trouble(row.property)]
"""


def test_one_that_is_sent_is_taken_through_them_too(lived_in, restored, tmp_path):
    path = tmp_path / "older.house"
    lived_in.manage("export_house", "1", str(path))
    made_older(path)

    assert restored.run(SENT.format(path=str(path))) == ["ready", "", None]
    assert not list((restored.folder / "data").glob("bringing-up-*"))
    assert not list((restored.folder / "data" / "house-arrivals").iterdir())
