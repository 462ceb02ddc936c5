"""Archives that are small to send and large to unpack: refused by what they say of themselves."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Mapping
from typing import IO, Any

from apps.moving.manifest import Manifest, Refused

MOST_TIMES_SMALLER = 200
"""Rows shrink some ten to thirty times (measured on the demo house); a bomb shrinks a thousand."""
SMALL_BYTES = 1024 * 1024
MOST_DIRECTORY_BYTES = 64 * 1024 * 1024
"""The list of its parts is read whole: some 100 bytes a part."""
# APPNOTE 6.3, sections 4.3.14 to 4.3.16: the ends of a ZIP, and where its list's size stands.
END, END_SIZE_AT = struct.Struct("<4s4HLLH"), 5
END_64, END_64_SIZE_AT = struct.Struct("<4sQ2H2L4Q"), 8
LOCATOR = struct.Struct("<4sLQL")
BURSTS = "A part of the archive would burst when unpacked: nothing was used."


def refuse_long_directory(file: IO[bytes], comment_bytes: int) -> None:
    """Refuse a list of parts that would fill the memory; before anybody reads it."""
    file.seek(0, 2)
    at = file.tell() - comment_bytes - END.size
    size = read(file, at, END)[END_SIZE_AT]
    before = at - LOCATOR.size
    if before >= END_64.size and read(file, before, LOCATOR)[0] == b"PK\x06\x07":
        wide = read(file, before - END_64.size, END_64)
        if wide[0] != b"PK\x06\x06":
            raise Refused(BURSTS)
        size = max(wide[END_64_SIZE_AT], 0 if size == 0xFFFFFFFF else size)
    if size > MOST_DIRECTORY_BYTES:
        raise Refused(BURSTS)


def read(file: IO[bytes], at: int, form: struct.Struct) -> tuple[Any, ...]:
    if at < 0:
        raise Refused("This is no backup and no house of this program, or it was cut short.")
    file.seek(at)
    return form.unpack(file.read(form.size))


def refuse_bombs(
    infos: Mapping[str, zipfile.ZipInfo], manifest: Manifest, most_bytes: int, most_row_bytes: int
) -> None:
    """Hold what the parts come to against what may be, all of them and rows alone."""
    sizes = {one.name: one.byte_size for one in manifest.members}
    rows = sum(size for name, size in sizes.items() if name.startswith("rows/"))
    for size, most in ((sum(sizes.values()), most_bytes), (rows, most_row_bytes)):
        if size > most:
            raise Refused(f"Unpacked it is more than {most // 1024**2} MiB: nothing was used.")
    for name, size in sizes.items():
        info = infos[name]
        if info.file_size != size:
            raise Refused("The archive is damaged or was changed: nothing of it was used.")
        if size > SMALL_BYTES and size > MOST_TIMES_SMALLER * max(1, info.compress_size):
            raise Refused(BURSTS)
