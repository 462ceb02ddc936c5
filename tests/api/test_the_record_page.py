"""The page on the record: its example is run as it stands, on a real completion file."""

from __future__ import annotations

import hashlib
import json
import re
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

from apps.inspections.completion import services
from apps.inspections.completion.record import SCHEMA_FILE
from apps.inspections.models import CompletionFile
from tests import factories

PAGE = Path(__file__).resolve().parents[2] / "docs" / "explanation" / "the-record.md"


@pytest.fixture
def bundle(house, settings, tmp_path):
    """Where the completion file of a house with three sign-offs lies."""
    settings.COMPLETION_DIR = tmp_path / "completion"
    look = factories.InspectionFactory(property=house, title="Pláns of “J7” 🪵")
    for note in ("Too wet", "Ends clear", "½ inch of air: fine\nSeen again"):
        factories.SignOffFactory(inspection=look, note=note, recorded_by=house.owner)
    row = CompletionFile.objects.create(property=house)
    services.build(completion_file_id=row.pk)
    return services.file_of(row)


def run_example(path):
    (source,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    # Isolated: nothing of this program can be imported.
    return subprocess.run(
        [sys.executable, "-I", "-S", "-c", source, str(path)],
        cwd=path.parent, capture_output=True, text=True, encoding="utf-8", check=False,
    )  # fmt: skip


def changed(path, change):
    """The ZIP with another record.json, and a manifest that was made to fit it."""
    with ZipFile(path) as zipped:
        held = {name: zipped.read(name) for name in zipped.namelist()}
    record = json.loads(held["record.json"])
    old = hashlib.sha256(held["record.json"]).hexdigest()
    change(record["sign_offs"])
    held["record.json"] = json.dumps(record).encode()
    new = hashlib.sha256(held["record.json"]).hexdigest()
    held["MANIFEST.sha256"] = held["MANIFEST.sha256"].replace(old.encode(), new.encode())
    forged = path.with_name("forged.zip")
    with ZipFile(forged, "w") as zipped:
        for name, content in held.items():
            zipped.writestr(name, content)
    return forged


def test_the_example_finds_a_real_completion_file_whole(house, bundle):
    checked = run_example(bundle)

    last = house.sign_offs.order_by("number").last()
    assert (checked.returncode, checked.stderr) == (0, "")
    assert checked.stdout.strip() == (
        f"Every file and all 3 sign-offs hold. The last digest is {last.digest}."
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda rows: rows[1]["entry"].update(note="All well"), "2 is not what was signed"),
        (lambda rows: rows.pop(1), "2 does not follow"),
        (lambda rows: rows.reverse(), "1 does not follow"),
        (lambda rows: rows[2].update(digest="0" * 64), "3 is not what was signed"),
    ],
)
def test_the_example_names_the_sign_off_that_was_tampered_with(bundle, change, said):
    checked = run_example(changed(bundle, change))

    assert checked.returncode == 1
    assert f"Sign-off {said}" in checked.stderr


def test_the_example_names_a_file_that_was_exchanged(bundle):
    with ZipFile(bundle) as zipped:
        held = {name: zipped.read(name) for name in zipped.namelist()}
    forged = bundle.with_name("forged.zip")
    with ZipFile(forged, "w") as zipped:
        for name, content in {**held, "completion.pdf": b"%PDF-1.7 other"}.items():
            zipped.writestr(name, content)

    checked = run_example(forged)

    assert checked.returncode == 1
    assert "completion.pdf is not the file that the manifest names." in checked.stderr


def test_the_example_is_about_twenty_lines():
    (source,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)

    assert len(source.splitlines()) <= 20


def test_the_page_names_every_part_of_the_record():
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))

    told = set(re.findall(r"`(\w+)`", PAGE.read_text(encoding="utf-8")))

    assert set(schema["properties"]) - {"$schema"} - told == set()
