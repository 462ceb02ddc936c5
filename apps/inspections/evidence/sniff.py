"""What an uploaded file is, told from its bytes and never from its name.

Only JPEG, PNG, HEIC and PDF are taken, and only when the whole file is that one thing: its
structure is walked from the first byte to its end marker. A file that is two things at once
(a PDF that opens as a ZIP, a picture with a program behind it) is refused.

Sources: ITU-T T.81 annex B (JPEG markers), W3C PNG third edition section 5 (chunks),
ISO/IEC 14496-12 section 4.2 (boxes) and 23008-12 annex B (HEIC brands), ISO 32000-1 section
7.5 (PDF header and end), PKWARE APPNOTE 4.3.16 (end of a ZIP); all from memory.
"""

from __future__ import annotations

import re
from enum import StrEnum

from apps.inspections.evidence.trailers import camera_trailer_end


class FileType(StrEnum):
    """The types that are taken, by their media type (IANA registry)."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    HEIC = "image/heic"
    PDF = "application/pdf"


class UnknownType(ValueError):
    """Not a type that is taken; the sentence says what it is instead, where that is known."""


class BrokenFile(ValueError):
    """It begins as a type that is taken, and is damaged or something else as well."""


PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis"}
PDF_HEADER, PDF_END = b"%PDF-", b"%%EOF"
# Old readers look for a PDF's header in the first 1024 bytes and for its end in the last
# 1024 (ISO 32000-1, annex H).
PDF_SEARCHED = 1024
# What a refused file is, by how it begins.
OTHERS: tuple[tuple[bytes, str], ...] = (
    (b"MZ", "a Windows program"),
    (b"\x7fELF", "a Linux program"),
    (b"\xcf\xfa\xed\xfe", "a macOS program"),
    (b"\xce\xfa\xed\xfe", "a macOS program"),
    (b"\xca\xfe\xba\xbe", "a Java or macOS program"),
    (b"#!", "a script"),
    (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"PK\x05\x06", "an empty ZIP archive"),
    (b"Rar!", "an archive"),
    (b"7z\xbc\xaf", "an archive"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\xd0\xcf\x11\xe0", "an old office document"),
    (b"{\\rtf", "a text document"),
    (b"GIF8", "a GIF picture"),
    (b"RIFF", "a WebP picture, a sound or a film"),
    (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"),
    (b"BM", "a bitmap picture"),
    (b"<", "a web page or a drawing in XML"),
)
ANOTHER_MARKER = re.compile(rb"\xff+([^\x00\xd0-\xd7\xff])")
WEB_PAGE = re.compile(rb"<(script|html|body|iframe|svg|!doctype)\b", re.IGNORECASE)
ENDS_EARLY = "The file ends too early; it was not copied whole."


def sniff(content: bytes) -> FileType:
    """Say what a file is.

    Raises:
        UnknownType: it is none of the types that are taken.
        BrokenFile: it is cut short, has something before or behind it, or is a second thing.
    """
    if not content:
        raise BrokenFile("The file is empty.")
    found = begins_as(content)
    {
        FileType.JPEG: check_jpeg,
        FileType.PNG: check_png,
        FileType.HEIC: check_heic,
        FileType.PDF: check_pdf,
    }[found](content)
    if found != FileType.PDF and PDF_HEADER in content[:PDF_SEARCHED]:
        raise BrokenFile("The picture would also open as a PDF.")
    if opens_as_zip(content):
        raise BrokenFile("The file would also open as a ZIP archive.")
    return found


def begins_as(content: bytes) -> FileType:
    """The type that the first bytes promise."""
    if content.startswith(b"\xff\xd8\xff"):
        return FileType.JPEG
    if content.startswith(PNG_SIGNATURE):
        return FileType.PNG
    if content[4:8] == b"ftyp":
        return FileType.HEIC
    if content.startswith(PDF_HEADER):
        return FileType.PDF
    if PDF_HEADER in content[:PDF_SEARCHED]:
        raise BrokenFile("There is something before the beginning of the PDF.")
    what = next((name for start, name in OTHERS if content.lstrip().startswith(start)), "")
    raise UnknownType(
        f"This is {what or 'of a type that is not known here'}; "
        "send a photo (JPEG, PNG, HEIC) or a PDF."
    )


def check_jpeg(content: bytes) -> None:
    """One whole JPEG; behind it nothing, or what cameras are known to put there.

    Phones append a brightness map, a few seconds of film or notes of their own to ordinary
    photos. Such a trailer is let pass when it is exactly that from end to end; it is not kept.
    """
    end = jpeg_end(content, 0)
    if end < len(content) and camera_trailer_end(content, end, jpeg_end) != len(content):
        raise BrokenFile("There is something behind the end of the picture.")


def jpeg_end(content: bytes, start: int) -> int:
    """Where the JPEG that begins at `start` ends.

    Raises:
        BrokenFile: it has no end, or its markers do not follow each other.
    """
    at = start + 2
    while True:
        marker = content[at : at + 2]
        if len(marker) < 2:
            raise BrokenFile(ENDS_EARLY)
        if marker[0] != 0xFF:
            raise BrokenFile("The picture is damaged: its parts do not follow each other.")
        if marker[1] == 0xFF:
            at += 1
            continue
        if marker[1] == 0xD9:
            return at + 2
        length = int.from_bytes(content[at + 2 : at + 4], "big")
        if length < 2:
            raise BrokenFile("The picture is damaged: one of its parts has no length.")
        at += 2 + length
        if marker[1] == 0xDA:
            found = ANOTHER_MARKER.search(content, at)
            if found is None:
                raise BrokenFile(ENDS_EARLY)
            at = found.start(1) - 1


def check_png(content: bytes) -> None:
    """Whole chunks from IHDR to IEND, and nothing behind."""
    at, name = len(PNG_SIGNATURE), b""
    while name != b"IEND":
        first = not name
        length, name = int.from_bytes(content[at : at + 4], "big"), content[at + 4 : at + 8]
        if first and name != b"IHDR":
            raise BrokenFile("The picture is damaged: it does not begin with its size.")
        at += 12 + length
        if at > len(content):
            raise BrokenFile(ENDS_EARLY)
    if at != len(content):
        raise BrokenFile("There is something behind the end of the picture.")


def check_heic(content: bytes) -> None:
    """Whole boxes from end to end, of a brand that holds an HEVC still picture."""
    size = int.from_bytes(content[:4], "big")
    brands = {content[at : at + 4] for at in range(8, min(size, 400), 4) if at != 12}
    if not brands & HEIC_BRANDS:
        raise UnknownType(
            "This is a film, or a picture of a newer kind than HEIC; "
            "send a photo (JPEG, PNG, HEIC) or a PDF."
        )
    at = 0
    while at < len(content):
        size = int.from_bytes(content[at : at + 4], "big")
        if size == 1:
            size = int.from_bytes(content[at + 8 : at + 16], "big")
        if size < 8 or not content[at + 4 : at + 8].isalnum():
            raise BrokenFile("There is something in the picture that does not belong there.")
        at += size
    if at != len(content):
        raise BrokenFile(ENDS_EARLY)


def check_pdf(content: bytes) -> None:
    """A header at the first byte, an end marker at the last, and no web page between."""
    if not re.match(rb"%PDF-[12]\.\d", content):
        raise BrokenFile("The PDF does not say its version.")
    end = content.rfind(PDF_END)
    if end < 0:
        raise BrokenFile(ENDS_EARLY)
    behind = content[end + len(PDF_END) :]
    if len(behind) > PDF_SEARCHED or behind.strip(b"\r\n\t \x00"):
        raise BrokenFile("There is something behind the end of the PDF.")
    if WEB_PAGE.search(content[:PDF_SEARCHED]):
        raise BrokenFile("The PDF would also open as a web page.")


def opens_as_zip(content: bytes) -> bool:
    """Whether an archive's directory ends exactly where the file ends.

    A ZIP is read from its end, so any file can be one as well: the end record is 22 bytes
    and a comment of up to 65,535.
    """
    at = content.rfind(b"PK\x05\x06", max(0, len(content) - 65_557))
    while at >= 0:
        if at + 22 <= len(content):
            comment = int.from_bytes(content[at + 20 : at + 22], "little")
            if at + 22 + comment == len(content):
                return True
        at = content.rfind(b"PK\x05\x06", max(0, len(content) - 65_557), at)
    return False
