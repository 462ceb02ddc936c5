"""Photos and papers of a house from somebody else: held to what an upload is held to, as far as
they can be without being changed. Their digests are in the record, so they stay as they are."""

from __future__ import annotations

import io

from apps.inspections.evidence.sniff import BrokenFile, FileType, UnknownType, sniff
from apps.moving.archive import Archive
from apps.moving.house_files import refuse_large_files
from apps.moving.manifest import Refused


def refuse_strange_files(archive: Archive) -> None:
    """Refuse a PDF that acts or carries files, and a picture that would fill the memory.

    Raises:
        Refused: one of them is no file that an upload may be.
    """
    refuse_large_files(archive)
    for folder in ("evidence", "thumbnails"):
        for name in archive.names(folder):
            try:
                look_into(b"".join(archive.chunks(f"{folder}/{name}")))
            except (BrokenFile, UnknownType) as exc:
                raise Refused(f"A photo or a paper in it is not taken. {exc}") from exc


def look_into(content: bytes) -> None:
    kind = sniff(content)
    if kind == FileType.PDF:
        from apps.inspections.evidence.pdfs import check_document  # noqa: PLC0415 (pypdf, 0.2 s)

        check_document(content)
        return
    from PIL import Image, UnidentifiedImageError  # noqa: PLC0415 (0.1 s)

    from apps.inspections.evidence.images import (  # noqa: PLC0415 (the same)
        DECODERS,
        MOST_PIXELS,
    )

    try:
        with Image.open(io.BytesIO(content), formats=[DECODERS[kind]]) as picture:
            width, height = picture.size
    except (
        UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError,
    ) as exc:  # fmt: skip
        raise BrokenFile("The picture is damaged and cannot be shown.") from exc
    if width * height > MOST_PIXELS:
        raise BrokenFile("The picture has more pixels than any that is kept.")
