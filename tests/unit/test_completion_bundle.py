"""The ZIP: checked with the tools that anyone has, `sha256sum` and a ZIP reader."""

from __future__ import annotations

import subprocess
from zipfile import ZipFile

from apps.inspections.completion.bundle import MANIFEST, write_bundle


def bundle(folder, name="a.zip", **more):
    """A ZIP with a made file and one from disk."""
    folder.mkdir(exist_ok=True)
    (folder / "photo").write_bytes(b"\xff\xd8" + bytes(3_000_000))
    write_bundle(
        folder / name,
        made={"record.json": b"{}\n", "completion.pdf": b"%PDF-1.7"},
        files={"evidence/0001-abc.jpg": folder / "photo"},
        **more,
    )
    return folder / name


def test_sha256sum_finds_every_file_as_the_manifest_says(tmp_path):
    with ZipFile(bundle(tmp_path)) as zipped:
        zipped.extractall(tmp_path / "out")

    checked = subprocess.run(
        ["sha256sum", "--strict", "-c", MANIFEST],
        cwd=tmp_path / "out", capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert checked.returncode == 0
    assert checked.stdout.splitlines() == [
        "record.json: OK", "completion.pdf: OK", "evidence/0001-abc.jpg: OK",
    ]  # fmt: skip


def test_sha256sum_notices_one_changed_byte(tmp_path):
    with ZipFile(bundle(tmp_path)) as zipped:
        zipped.extractall(tmp_path / "out")
    (tmp_path / "out" / "record.json").write_bytes(b"[]\n")

    checked = subprocess.run(
        ["sha256sum", "-c", MANIFEST], cwd=tmp_path / "out", capture_output=True, check=False
    )

    assert checked.returncode != 0


def test_the_manifest_names_all_but_itself(tmp_path):
    with ZipFile(bundle(tmp_path)) as zipped:
        named = [line.split("  ", 1)[1] for line in zipped.read(MANIFEST).decode().splitlines()]

        assert [*named, MANIFEST] == zipped.namelist()
        assert zipped.testzip() is None


def test_the_same_content_makes_the_same_bytes(tmp_path):
    first, second = bundle(tmp_path, "a.zip"), bundle(tmp_path, "b.zip")

    assert first.read_bytes() == second.read_bytes()


def test_progress_is_told_after_each_file(tmp_path):
    told = []

    bundle(tmp_path, told=told.append)

    assert told == [1 / 3, 2 / 3, 1]
