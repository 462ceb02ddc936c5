"""A full data folder: what does not fit is refused whole; the rest goes on, and afterwards all.

The folder is a small tmpfs, which only root may mount; CI is root. What anybody may try, files that
may not grow, is in tests/commands/test_full_disk.py.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
import uuid
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from PIL import Image

from tests import pictures
from tests.installation import REPOSITORY, Installation, until
from tests.services.conftest import LONG, Service, web_process

FOLDER_MIB = 48
TIMES = 20 if LONG else 2


@pytest.fixture
def tight(small: Service, tmp_path: Path) -> Iterator[Service]:
    """A copy of the SQLite installation whose data folder is a disk of 48 MiB."""
    subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={FOLDER_MIB}m", "tmpfs", str(tmp_path)], check=True
    )
    try:
        data = tmp_path / "data"
        data.mkdir(mode=0o700)
        whole = small.installation.folder / "data"
        with sqlite3.connect(whole / "lifted-boards.sqlite3") as source:
            source.execute("VACUUM INTO ?", [str(data / "lifted-boards.sqlite3")])
        source.close()
        shutil.copy(whole / "secret-key", data)
        installation = Installation(tmp_path, small.installation.settings)
        service = replace(small, installation=installation)
        try:
            service.address = web_process(installation, processes=1)
            yield service
        finally:
            installation.close()
    finally:
        subprocess.run(["umount", "--lazy", str(tmp_path)], check=True)


def fill(folder: Path, leave: int) -> Path:
    """Fill the disk until so many bytes are left."""
    ballast = folder / "ballast"
    ballast.write_bytes(b"\0" * (shutil.disk_usage(folder).free - leave))
    return ballast


def big_photo(number: int) -> bytes:
    """About 700 kB of noise, which no packing makes small."""
    noise = random.Random(number).randbytes(900 * 700)
    return pictures.jpeg(Image.frombytes("L", (900, 700), noise), quality=95)


def upload(service: Service, house: int, content: bytes) -> int:
    boundary = uuid.uuid4().hex
    fields = "".join(
        f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in (("property", house), ("title", "Joist ends"))
    )
    body = (
        fields.encode()
        + f'--{boundary}\r\nContent-Disposition: form-data; name="file"; filename="a.jpg"\r\n'
        f"Content-Type: image/jpeg\r\n\r\n".encode()
        + content
        + f"\r\n--{boundary}--\r\n".encode()
    )
    request = Request(f"{service.address}/api/v1/evidence/", data=body, method="POST")
    request.add_header("Content-Type", f"multipart/form-data; boundary={boundary}")
    request.add_header("Authorization", f"Token {service.token}")
    try:
        with urlopen(request, timeout=120) as response:
            return int(response.status)
    except HTTPError as error:
        problem = error.headers["Content-Type"] == "application/problem+json"
        return error.code if problem else -error.code


def files_of(service: Service) -> list[str]:
    folder = service.installation.folder / "data" / "evidence"
    return sorted(str(path) for path in folder.rglob("*") if path.is_file())


def incoming(service: Service) -> list[str]:
    return [name for name in files_of(service) if "/incoming/" in name]


def test_what_does_not_fit_leaves_nothing_and_fits_afterwards(tight, record_property):
    house = tight.seed()
    at = f"evidence/?property={house['property']}"
    assert upload(tight, house["property"], big_photo(0)) == 201
    until(lambda: not incoming(tight), "the upload's own file to go")
    kept = files_of(tight)

    for number in range(1, TIMES + 1):
        ballast = fill(tight.installation.folder, leave=200_000)
        refused = upload(tight, house["property"], big_photo(number))
        read = tight.get(at)
        ballast.unlink()

        assert refused == 507
        assert (read.status, read.json()["count"]) == (200, 1)
        until(lambda: files_of(tight) == kept, "nothing to be left of it")

    assert upload(tight, house["property"], big_photo(1)) == 201
    assert tight.get(at).json()["count"] == 2
    record_property("times", TIMES)


def test_a_write_on_a_full_disk_is_refused_whole_and_done_with_its_key_afterwards(tight):
    house = tight.seed()
    room = {
        "property": house["property"], "storey": house["storey"], "name": "Scullery",
        "width_mm": 2000, "length_mm": 3000,
    }  # fmt: skip
    ballast = fill(tight.installation.folder, leave=0)

    refused = [tight.post("rooms/", room, key="k1") for _ in range(TIMES)]
    read = tight.get(f"rooms/?property={house['property']}")
    ballast.unlink()
    done = tight.post("rooms/", room, key="k1")

    assert {answer.status for answer in refused} == {507}
    # SQLite needs room to be read at all: 32 KiB for its index of the log.
    assert read.status in {200, 507}
    assert done.status == 201
    names = [
        row["name"]
        for row in tight.get(f"rooms/?property={house['property']}").json()["results"]
    ]  # fmt: skip
    assert names.count("Scullery") == 1


def test_a_backup_that_finds_no_room_leaves_no_file(tight, tmp_path):
    house = tight.seed()["property"]
    assert upload(tight, house, big_photo(0)) == 201
    whole = tmp_path / "whole.zip"
    tight.installation.manage("backup", str(whole))
    ballast = fill(tight.installation.folder, leave=whole.stat().st_size // 2)

    with pytest.raises(AssertionError, match=r"full|room|space"):
        tight.installation.manage("backup", str(tmp_path / "half.zip"))
    left = [
        path.name
        for path in tmp_path.iterdir()
        if path not in {whole, ballast} and path.suffix != ".log"
    ]
    ballast.unlink()

    assert left == ["data"]
    tight.installation.manage("backup", str(tmp_path / "second.zip"))


def test_on_a_disk_filled_to_the_last_byte_a_backup_says_so_in_a_sentence(
    tight, tmp_path_factory, record_property
):
    """SQLite cannot even be read then, wherever the backup would go."""
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    tight.installation.close()
    ballast = fill(tight.installation.folder, leave=0)

    said = []
    for _ in range(TIMES):
        done = subprocess.run(
            [sys.executable, "manage.py", "backup", str(elsewhere / "some.backup")],
            cwd=REPOSITORY, env=tight.installation.environment,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        said.append((done.returncode, done.stderr))
    ballast.unlink()

    assert {code for code, _ in said} == {1}
    assert all(text.startswith("The disk is full") and text.count("\n") == 1 for _, text in said)
    assert list(elsewhere.iterdir()) == []
    tight.installation.manage("backup", str(elsewhere / "some.backup"))
    record_property("times", TIMES)
