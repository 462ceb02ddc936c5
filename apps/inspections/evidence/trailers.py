"""What phones append to a JPEG behind its end: told apart from what somebody hid there.

Sources, all from memory: CIPA DC-007 (further JPEG images), ISO/IEC 14496-12 section 4.2
(boxes of a film); the notes between `SEFH` and `SEFT` are undocumented by their maker and
known from files only.
"""

from __future__ import annotations

from collections.abc import Callable

FILM_BOXES = {b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"meta", b"uuid", b"mpvd"}


def camera_trailer_end(content: bytes, at: int, jpeg_end: Callable[[bytes, int], int]) -> int:
    """How far a camera's trailer reaches that begins at `at`.

    `jpeg_end` says where a JPEG ends and raises `ValueError` for a damaged one. The trailer
    counts only when the answer is the length of the file.
    """
    while at < len(content):
        rest = content[at : at + 8]
        if rest.startswith(b"\xff\xd8\xff"):
            at = jpeg_end(content, at)
        elif rest[:1] == b"\x00" and not content[at : at + 64].strip(b"\x00"):
            at += len(content[at : at + 64])
        elif rest[4:8] in FILM_BOXES and (end := box_end(content, at)) > at:
            at = end
        elif notes_begin(content) == at:
            return len(content)
        else:
            return at
    return at


def box_end(content: bytes, at: int) -> int:
    """The end of a film's box; 0 when its size is impossible."""
    size = int.from_bytes(content[at : at + 4], "big")
    if size == 1:
        size = int.from_bytes(content[at + 8 : at + 16], "big")
    return at + size if size >= 8 and at + size <= len(content) else 0


def notes_begin(content: bytes) -> int:
    """Where a phone's own notes begin, that end the file; -1 without any.

    Read from the end: `SEFT`, before it the directory's length, and in the directory
    (`SEFH`, version, count) for each note how far before the directory it lies.
    """
    if not content.endswith(b"SEFT"):
        return -1
    length = int.from_bytes(content[-8:-4], "little")
    directory = len(content) - 8 - length
    if directory < 0 or content[directory : directory + 4] != b"SEFH":
        return -1
    count = int.from_bytes(content[directory + 8 : directory + 12], "little")
    if length != 12 + 12 * count:
        return -1
    entries = (directory + 12 + 12 * number for number in range(count))
    back = [int.from_bytes(content[entry + 4 : entry + 8], "little") for entry in entries]
    return directory - max(back, default=0)
