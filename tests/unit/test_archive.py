"""One file of rows and files: written whole, read only when it is whole.

The container is a ZIP (PKWARE APPNOTE 6.3, as Python's zipfile writes it); the digests are
SHA-256 (FIPS 180-4, as Python's hashlib computes them).
"""

from __future__ import annotations

import errno
import gc
import hashlib
import io
import json
import os
import struct
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.moving import bombs, whole_files
from apps.moving.archive import SEAL, SEAL_BYTES, Writer, open_archive
from apps.moving.manifest import Manifest, Refused
from apps.moving.whole_files import written_whole

MOST = 100 * 1024**2
PHOTO = b"\xff\xd8 a photo \xff\xd9" * 20
DIGEST = hashlib.sha256(PHOTO).hexdigest()
ROWS = [[1, "Kitchen"], [2, "Küche\nmit Herd 🔥"]]


def manifest_of(writer, **changes):
    told = {
        "kind": "house", "id": "a" * 32, "made_at": "2026-03-02T19:00:00+00:00",
        "database": "sqlite", "migrations": {"property": ("0001_initial",)},
        "tables": tuple(writer.tables), "members": tuple(writer.members),
    }  # fmt: skip
    return Manifest(**{**told, **changes})


def written(rows=ROWS, *, files=((f"evidence/{DIGEST}", PHOTO),), **changes):
    """An archive of two rows and one photo, as bytes."""
    file = io.BytesIO()
    writer = Writer(file)
    writer.add_rows("property.Room", ["id", "name"], rows)
    for name, content in files:
        writer.add(name, [content], zipfile.ZIP_STORED)
    writer.close(manifest_of(writer, **changes))
    return file.getvalue()


def sealed(members, *, compress=zipfile.ZIP_DEFLATED, mode="w", start=b""):
    """A ZIP that somebody else made, with a right seal."""
    file = io.BytesIO(start)
    with zipfile.ZipFile(file, mode, compress) as zipped:
        for name, content in members:
            zipped.writestr(name, content)
        zipped.comment = SEAL + b"0" * 64
    body = file.getvalue()[:-SEAL_BYTES]
    return body + SEAL + hashlib.sha256(body).hexdigest().encode()


def unzipped(content):
    with zipfile.ZipFile(io.BytesIO(content)) as zipped:
        return [(name, zipped.read(name)) for name in zipped.namelist()]


def changed(content, change):
    """The same archive with its manifest changed, and sealed again."""
    members = dict(unzipped(content))
    data = json.loads(members.pop("manifest.json"))
    change(data)
    return sealed([*members.items(), ("manifest.json", json.dumps(data))])


def opened(content, most_bytes=MOST, **how):
    return open_archive(io.BytesIO(content), most_bytes=most_bytes, **how)


def test_what_was_written_is_read_again():
    archive = opened(written())

    assert list(archive.rows("property.Room")) == [
        {"id": 1, "name": "Kitchen"}, {"id": 2, "name": "Küche\nmit Herd 🔥"},
    ]  # fmt: skip
    assert b"".join(archive.chunks(f"evidence/{DIGEST}")) == PHOTO
    assert archive.names("evidence") == [DIGEST]
    assert list(archive.rows("property.Storey")) == []


def test_any_unzip_reads_it():
    with zipfile.ZipFile(io.BytesIO(written())) as zipped:
        assert zipped.testzip() is None
        assert json.loads(zipped.read("manifest.json"))["format"] == "lifted-boards"


def test_any_byte_flipped_anywhere_is_refused():
    content = written()
    for place in range(len(content)):
        damaged = bytearray(content)
        damaged[place] ^= 0x01
        with pytest.raises(Refused):
            opened(bytes(damaged))


def test_cut_short_anywhere_is_refused():
    content = written()
    for length in range(len(content)):
        with pytest.raises(Refused):
            opened(content[:length])


@given(st.binary(max_size=400))
def test_bytes_that_are_no_archive_are_refused(content):
    with pytest.raises(Refused):
        opened(content)


@given(st.binary(max_size=200))
def test_bytes_behind_the_seal_are_refused(more):
    if more:
        with pytest.raises(Refused):
            opened(written() + more)


@pytest.mark.parametrize(
    "name", ["more.txt", "../../etc/passwd", "/etc/passwd", "evidence/../x", "rows/", "a\\b"]
)
def test_a_part_that_the_manifest_does_not_name_is_refused(name):
    with pytest.raises(Refused, match="does not belong"):
        opened(sealed([*unzipped(written()), (name, b"hello")]))


@pytest.mark.parametrize(
    "name",
    ["../../evil", "/evil", "evidence/../../evil", "rows/../evil.jsonl", "completion/a.zip",
     f"evidence/{DIGEST}/x", "secret-key/x", "evidence/" + "A" * 64],
)  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused_even_where_the_manifest_has_it(name):
    members = dict(unzipped(written()))
    data = json.loads(members.pop("manifest.json"))
    digest = hashlib.sha256(b"evil").hexdigest()
    data["members"].append({"name": name, "byte_size": 4, "sha256": digest})

    with pytest.raises(Refused, match="manifest"):
        opened(sealed([*members.items(), (name, b"evil"), ("manifest.json", json.dumps(data))]))


def test_a_part_that_is_missing_is_refused():
    members = [one for one in unzipped(written()) if not one[0].startswith("evidence/")]
    with pytest.raises(Refused, match="lacks"):
        opened(sealed(members))


@pytest.mark.filterwarnings("ignore:Duplicate name:UserWarning")
def test_a_part_that_is_there_twice_is_refused():
    with pytest.raises(Refused, match="does not belong"):
        opened(sealed([*unzipped(written()), (f"evidence/{DIGEST}", b"other")]))


def test_another_digest_than_the_parts_own_is_refused():
    def lie(data):
        data["members"][0]["sha256"] = "0" * 64

    with pytest.raises(Refused):
        opened(changed(written(), lie))


def test_evidence_under_another_digest_than_its_own_is_refused():
    other = "b" * 64
    with pytest.raises(Refused, match="another digest"):
        opened(written(files=[(f"evidence/{other}", PHOTO)]))


def test_more_rows_than_are_named_are_refused():
    def lie(data):
        data["tables"][0]["rows"] = 1

    with pytest.raises(Refused, match="rows"):
        opened(changed(written(), lie))


@pytest.mark.parametrize(
    "line", [b'{"id":1}\n', b"[1]\n", b'{"id":NaN,"name":""}\n', b"no\n", b'{"id":1,"name":"x"}',
             b"[" * 100_000 + b"\n", b'{"id":' + b"9" * 5000 + b',"name":""}\n'],
)  # fmt: skip
def test_a_line_that_is_no_row_of_its_table_is_refused(line):
    members = dict(unzipped(written()))
    data = json.loads(members.pop("manifest.json"))
    members["rows/property.Room.jsonl"] = line
    member = next(one for one in data["members"] if one["name"].startswith("rows/"))
    member |= {"byte_size": len(line), "sha256": hashlib.sha256(line).hexdigest()}
    data["tables"][0]["rows"] = 1

    with pytest.raises(Refused):
        opened(sealed([*members.items(), ("manifest.json", json.dumps(data))]))


def test_a_part_that_would_burst_is_refused_before_it_is_unpacked():
    zeros = b"\0" * (30 * 1024**2)
    digest = hashlib.sha256(zeros).hexdigest()
    members = dict(unzipped(written()))
    data = json.loads(members.pop("manifest.json"))
    data["members"].append(
        {"name": f"evidence/{digest}", "byte_size": len(zeros), "sha256": digest}
    )
    parts = [*members.items(), (f"evidence/{digest}", zeros), ("manifest.json", json.dumps(data))]

    with pytest.raises(Refused, match="burst"):
        opened(sealed(parts))


def test_more_than_there_is_room_for_is_refused():
    with pytest.raises(Refused, match="MiB"):
        opened(written(), most_bytes=100)


def test_more_rows_than_the_memory_has_room_for_are_refused_whatever_the_disk_has():
    assert opened(written(), most_row_bytes=1000).names("evidence") == [DIGEST]
    with pytest.raises(Refused, match="MiB"):
        opened(written(), most_row_bytes=10)


def resealed(content, at, new):
    """The archive with bytes before its seal changed from a place on, counted from its end."""
    body = bytearray(content[:-SEAL_BYTES])
    at += len(body)
    body[at : at + len(new)] = new
    return bytes(body) + SEAL + hashlib.sha256(body).hexdigest().encode()


def test_a_list_of_parts_that_would_fill_the_memory_is_not_read():
    # The end of a ZIP is 22 bytes; the size of its list stands 10 before their end.
    with pytest.raises(Refused, match="burst"):
        opened(resealed(written(), -10, struct.pack("<L", bombs.MOST_DIRECTORY_BYTES + 1)))


@pytest.mark.parametrize("mark", [b"PK\x06\x06", b"PK\x00\x00"])
def test_nor_one_that_says_its_size_in_the_wide_form(mark):
    content = written()[: -SEAL_BYTES - bombs.END.size]
    wide = bombs.END_64.pack(mark, 44, 45, 45, 0, 0, 3, 3, 2**40, 0)
    locator = bombs.LOCATOR.pack(b"PK\x06\x07", 0, len(content), 1)
    end = bombs.END.pack(b"PK\x05\x06", 0, 0, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF, SEAL_BYTES)
    body = content + wide + locator + end

    with pytest.raises(Refused, match="burst"):
        opened(body + SEAL + hashlib.sha256(body).hexdigest().encode())


def test_a_size_that_lies_is_refused():
    def lie(data):
        for one in data["members"]:
            one["byte_size"] = 1

    with pytest.raises(Refused):
        opened(changed(written(), lie))


def test_an_unusual_way_of_packing_is_refused():
    with pytest.raises(Refused, match="does not belong"):
        opened(sealed(unzipped(written()), compress=zipfile.ZIP_LZMA))


def test_a_newer_form_is_refused_with_what_to_do():
    def newer(data):
        data["version"] = 2

    with pytest.raises(Refused, match="bring this one up to date"):
        opened(changed(written(), newer))


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)
NAMED = ["kind", "id", "made_at", "migrations", "tables", "members", "next_ids", "left", "missing",
         "troubles", "house"]  # fmt: skip


@given(name=st.sampled_from(NAMED), value=JSON)
def test_a_manifest_with_anything_in_it_is_read_or_refused_and_never_an_error(name, value):
    def put(data):
        data[name] = value

    content = changed(written(), put)
    try:
        archive = opened(content)
    except Refused:
        return
    assert isinstance(archive.manifest, Manifest)


def test_a_file_takes_its_name_only_when_it_is_whole(tmp_path):
    path = tmp_path / "house.backup"
    path.write_bytes(b"the last one")

    def stop_half_way():
        with written_whole(path) as file:
            file.write(b"half of the new")
            file.flush()
            assert path.read_bytes() == b"the last one"
            raise RuntimeError("the power went")

    with pytest.raises(RuntimeError):
        stop_half_way()

    assert path.read_bytes() == b"the last one"
    assert [one.name for one in tmp_path.iterdir()] == ["house.backup"]


def test_an_archive_that_was_given_up_says_nothing_when_it_is_collected(tmp_path):
    def give_up():
        with written_whole(tmp_path / "x") as file, Writer(file) as writer:
            writer.add("evidence/" + DIGEST, [PHOTO], zipfile.ZIP_STORED)
            raise Refused("The disk is full.")

    # Warnings are errors, those of a destructor too.
    with pytest.raises(Refused, match="full"):
        give_up()
    gc.collect()

    assert list(tmp_path.iterdir()) == []


class FullDisk(io.FileIO):
    def write(self, _):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_leaves_no_half_file_and_is_said(tmp_path, monkeypatch):
    # The disk itself is filled in tests/services; this is the sentence.
    monkeypatch.setattr(whole_files.os, "fdopen", FullDisk)

    with pytest.raises(Refused, match="disk is full"), written_whole(tmp_path / "x") as file:
        file.write(b"anything")

    assert list(tmp_path.iterdir()) == []
