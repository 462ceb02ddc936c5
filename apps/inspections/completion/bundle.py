"""The completion file's ZIP: its files in a fixed order with fixed dates, and their manifest."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

MANIFEST = "MANIFEST.sha256"
# The earliest date a ZIP can hold: the same record gives the same bytes at any time.
NO_DATE = (1980, 1, 1, 0, 0, 0)
READABLE = 0o100644 << 16
# Photos and PDFs are compressed already.
STORED = (".jpg", ".png", ".pdf")
CHUNK_BYTES = 1 << 20


def write_bundle(
    path: Path,
    *,
    made: Mapping[str, bytes],
    files: Mapping[str, Path],
    told: Callable[[float], None] = lambda part: None,
) -> None:
    """Write the ZIP.

    Args:
        path: where; an existing file is overwritten.
        made: content by name, written first.
        files: files on disk by name in the ZIP; streamed, never whole in memory.
        told: called after each file with the part that is written, 0 to 1.
    """
    lines = []
    names = [*made, *files]
    with ZipFile(path, "w") as bundle:
        for count, name in enumerate(names, start=1):
            digest = hashlib.sha256()
            info = entry(name)
            with bundle.open(info, "w", force_zip64=True) as target:
                for chunk in chunks(made[name]) if name in made else read(files[name]):
                    digest.update(chunk)
                    target.write(chunk)
            lines.append(f"{digest.hexdigest()}  {name}\n")
            told(count / len(names))
        bundle.writestr(entry(MANIFEST), "".join(lines))


def entry(name: str) -> ZipInfo:
    info = ZipInfo(name, NO_DATE)
    info.compress_type = ZIP_STORED if name.endswith(STORED) else ZIP_DEFLATED
    info.external_attr = READABLE
    # The maker's system is written into each entry; a ZIP says 3 for Unix.
    info.create_system = 3
    return info


def chunks(content: bytes) -> Iterator[bytes]:
    yield content


def read(path: Path) -> Iterator[bytes]:
    with path.open("rb") as source:
        while chunk := source.read(CHUNK_BYTES):
            yield chunk


def sha256_of(path: Path) -> str:
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()
