"""One file that holds rows and files, each with its digest, and a digest over all of it.

It is a plain ZIP (APPNOTE 6.3): `manifest.json` first in meaning and last in place, `rows/` one
JSON object a line, `evidence/`, `thumbnails/` and `completion/` as they are kept. Its comment is
`sha256:` and the SHA-256 of every byte before the comment, so that no byte can change unseen.
Whoever reads it looks through the whole of it before anything is used.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO, Any, Self

from apps.moving.bombs import refuse_bombs, refuse_long_directory
from apps.moving.manifest import Manifest, Member, Refused, Table, read_manifest

MANIFEST = "manifest.json"
SEAL = b"sha256:"
SEAL_BYTES = len(SEAL) + 64
CHUNK_BYTES = 1024 * 1024
MOST_MANIFEST_BYTES = 64 * 1024 * 1024
MOST_LINE_BYTES = 64 * 1024 * 1024
# 1980 is the earliest a ZIP can say: when it was made is in the manifest.
UNDATED = (1980, 1, 1, 0, 0, 0)
Told = Callable[[str], None]
Passed = Callable[[float], None]
DAMAGED = "The archive is damaged or was changed: nothing of it was used."


def quiet(_: object) -> None:
    """Tell nobody."""


class Writer:
    """Writes an archive into an open file, member by member; `close` seals it.

    Left with an exception, it writes nothing more.
    """

    def __init__(self, file: IO[bytes]) -> None:
        self.file = file
        self.zip = zipfile.ZipFile(file, "w", allowZip64=True)
        self.tables: list[Table] = []
        self.members: list[Member] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is not None:
            # Or it would end itself when it is collected, into a file that is closed by then.
            self.zip.fp = None

    def add_rows(self, model: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> Table:
        """Add the rows of a model, each as the values of its columns."""
        count = 0

        def lines() -> Iterator[bytes]:
            nonlocal count
            for row in rows:
                count += 1
                yield line_of(dict(zip(columns, row, strict=True)))

        self.add(f"rows/{model}.jsonl", lines(), zipfile.ZIP_DEFLATED)
        self.tables.append(Table(model, count, tuple(columns)))
        return self.tables[-1]

    def add_file(self, name: str, path: Path) -> None:
        with path.open("rb") as source:
            self.add(name, iter(lambda: source.read(CHUNK_BYTES), b""), zipfile.ZIP_STORED)

    def add(self, name: str, chunks: Iterable[bytes], how: int) -> None:
        digest, size = hashlib.sha256(), 0
        with self.zip.open(entry(name, how), "w", force_zip64=True) as member:
            for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                member.write(chunk)
        self.members.append(Member(name, size, digest.hexdigest()))

    def close(self, manifest: Manifest) -> None:
        """Write the manifest and the seal."""
        content = json.dumps(manifest.as_data(), ensure_ascii=False, indent=1).encode()
        self.zip.writestr(entry(MANIFEST, zipfile.ZIP_DEFLATED), content)
        self.zip.comment = SEAL + b"0" * 64
        self.zip.close()
        self.file.flush()
        self.file.seek(0, 2)
        sealed_bytes = self.file.tell() - SEAL_BYTES
        digest = sha256_of_start(self.file, sealed_bytes)
        self.file.seek(sealed_bytes)
        self.file.write(SEAL + digest.encode())
        self.file.flush()


def entry(name: str, how: int) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, UNDATED)
    info.compress_type = how
    info.external_attr = 0o100600 << 16
    return info


def line_of(row: Mapping[str, Any]) -> bytes:
    text = json.dumps(row, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode("utf-8", "surrogatepass") + b"\n"


def loads(content: bytes) -> Any:
    """JSON as it is written here: no NaN, no infinity.

    Raises:
        ValueError: it is none.
    """
    return json.loads(content, parse_constant=no_number)


def no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number")


def sha256_of_start(file: IO[bytes], byte_size: int) -> str:
    """The digest of the first so many bytes."""
    digest, left = hashlib.sha256(), byte_size
    file.seek(0)
    while left and (chunk := file.read(min(CHUNK_BYTES, left))):
        digest.update(chunk)
        left -= len(chunk)
    return digest.hexdigest()


class Archive:
    """An archive that was looked through and found whole. `open_archive` makes it."""

    def __init__(self, zipped: zipfile.ZipFile, manifest: Manifest) -> None:
        self.zip = zipped
        self.manifest = manifest

    def rows(self, model: str) -> Iterator[dict[str, Any]]:
        """The rows of a model; none when it has none."""
        table = self.manifest.table(model)
        if table is not None:
            with self.zip.open(table.member) as lines:
                for line in lines:
                    yield loads(line)

    def chunks(self, name: str) -> Iterator[bytes]:
        with self.zip.open(name) as member:
            while chunk := member.read(CHUNK_BYTES):
                yield chunk

    def digest(self, name: str) -> str:
        return next(one.sha256 for one in self.manifest.members if one.name == name)

    def names(self, folder: str) -> list[str]:
        """What lies in a folder of the archive, without the folder."""
        start = f"{folder}/"
        return [
            one.name.removeprefix(start)
            for one in self.manifest.members
            if one.name.startswith(start)
        ]


def open_archive(
    file: IO[bytes], *, most_bytes: int, most_row_bytes: int | None = None, told: Told = quiet,
    passed: Passed = quiet,
) -> Archive:  # fmt: skip
    """Look through a whole archive; nothing of it is used before this is done.

    Args:
        most_bytes: the most that its members may come to when unpacked.
        most_row_bytes: the same of its rows alone, which are read into memory.
        passed: called with the share that was looked through.

    Raises:
        Refused: it is cut short, altered, none of ours, or would burst.
    """
    try:
        refuse_broken_seal(file)
        refuse_long_directory(file, SEAL_BYTES)
        zipped = zipfile.ZipFile(file)
        infos = plain_members(zipped)
        manifest = read_manifest(loads(read_small(zipped, infos)))
        refuse_strangers(infos, manifest)
        refuse_bombs(infos, manifest, most_bytes, most_row_bytes or most_bytes)
        rows = {one.member: one for one in manifest.tables}
        for number, member in enumerate(manifest.members, start=1):
            check_member(zipped, member, rows.get(member.name))
            passed(number / len(manifest.members))
            if number % 100 == 0 or number == len(manifest.members):
                told(f"Checked {number} of {len(manifest.members)} parts.")
    except Refused:
        raise
    except (
        zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, KeyError, ValueError, OverflowError,
    ) as exc:  # fmt: skip
        raise Refused(DAMAGED) from exc
    return Archive(zipped, manifest)


def refuse_broken_seal(file: IO[bytes]) -> None:
    file.seek(0, 2)
    sealed_bytes = file.tell() - SEAL_BYTES
    if sealed_bytes <= 0:
        raise Refused("This is no backup and no house of this program, or it was cut short.")
    file.seek(sealed_bytes)
    seal = file.read(SEAL_BYTES)
    if not seal.startswith(SEAL):
        raise Refused("This is no backup and no house of this program, or it was cut short.")
    if sha256_of_start(file, sealed_bytes) != seal[len(SEAL) :].decode("ascii", "replace"):
        raise Refused(DAMAGED)


def plain_members(zipped: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """The members by name: each once, stored or deflated, not encrypted."""
    if len(zipped.comment) != SEAL_BYTES:
        raise Refused(DAMAGED)
    infos: dict[str, zipfile.ZipInfo] = {}
    for info in zipped.infolist():
        usual = info.compress_type in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
        # `orig_filename` is the name before zipfile cut or turned anything in it.
        if info.filename in infos or info.orig_filename != info.filename or not usual:
            raise Refused("The archive has a part that does not belong in it: nothing was used.")
        if info.flag_bits & 0x1:
            raise Refused("The archive is encrypted: decrypt it first.")
        infos[info.filename] = info
    return infos


def read_small(zipped: zipfile.ZipFile, infos: Mapping[str, zipfile.ZipInfo]) -> bytes:
    if MANIFEST not in infos:
        raise Refused("This is no backup and no house of this program.")
    if infos[MANIFEST].file_size > MOST_MANIFEST_BYTES:
        raise Refused("Its manifest is larger than any could be.")
    with zipped.open(infos[MANIFEST]) as member:
        content = member.read(MOST_MANIFEST_BYTES + 1)
    if len(content) > MOST_MANIFEST_BYTES:
        raise Refused("Its manifest is larger than any could be.")
    return content


def refuse_strangers(infos: Mapping[str, zipfile.ZipInfo], manifest: Manifest) -> None:
    wanted = {MANIFEST, *(one.name for one in manifest.members)}
    if strange := sorted(set(infos) - wanted):
        raise Refused(f"The archive has a part that does not belong in it: {strange[0][:80]!r}.")
    if gone := sorted(wanted - set(infos)):
        raise Refused(f"The archive lacks a part: {gone[0]!r}.")


def check_member(zipped: zipfile.ZipFile, member: Member, table: Table | None) -> None:
    """Hold a member against what the manifest says of it; rows line by line."""
    digest, size, rows = hashlib.sha256(), 0, 0
    with zipped.open(member.name) as source:
        while chunk := read_on(source, table):
            digest.update(chunk)
            size += len(chunk)
            if size > member.byte_size:
                raise Refused(DAMAGED)
            if table is not None:
                refuse_strange_row(chunk, table)
                rows += 1
    if size != member.byte_size or digest.hexdigest() != member.sha256:
        raise Refused(DAMAGED)
    if table is not None and rows != table.rows:
        raise Refused(f"{table.model}: {rows} rows are there and {table.rows} are named.")


def read_on(source: IO[bytes], table: Table | None) -> bytes:
    if table is None:
        return source.read(CHUNK_BYTES)
    line = source.readline(MOST_LINE_BYTES)
    if line and not line.endswith(b"\n"):
        raise Refused(f"{table.model}: a row is not whole.")
    return line


def refuse_strange_row(line: bytes, table: Table) -> None:
    row = loads(line)
    if not isinstance(row, dict) or tuple(row) != table.columns:
        raise Refused(f"{table.model}: a row has other columns than its table.")
