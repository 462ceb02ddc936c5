"""What an uploaded file is, told from its bytes.

The files are written by independent libraries (Pillow, libheif, pypdf, zipfile), not by us.
"""

from __future__ import annotations

import io
import struct
import zipfile

import pytest

from apps.inspections.evidence.sniff import BrokenFile, FileType, UnknownType, sniff
from tests import pictures

JPEG, PNG, HEIC, PDF = pictures.jpeg(), pictures.png(), pictures.heic(), pictures.pdf()
GOOD = {FileType.JPEG: JPEG, FileType.PNG: PNG, FileType.HEIC: HEIC, FileType.PDF: PDF}
WINDOWS = b"MZ\x90\x00\x03" + bytes(200)
LINUX = b"\x7fELF\x02\x01\x01" + bytes(200)


def archive(comment: bytes = b"") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("run.py", "print('run')")
        made.comment = comment
    return out.getvalue()


def box(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", 8 + len(content)) + name + content


@pytest.mark.parametrize("file_type", GOOD)
def test_a_good_file_is_told_by_its_content(file_type):
    assert sniff(GOOD[file_type]) == file_type


@pytest.mark.parametrize(
    "how", [{"progressive": True}, {"subsampling": 0}, {"restart_marker_rows": 1}]
)
def test_every_way_to_write_a_jpeg_is_walked_to_its_end(how):
    assert sniff(pictures.jpeg(**how)) == FileType.JPEG


def test_the_small_picture_inside_a_photos_exif_is_not_its_end():
    notes = pictures.exif().tobytes() + pictures.jpeg(pictures.drawn(64, 48))

    assert sniff(pictures.jpeg(exif=notes)) == FileType.JPEG


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (WINDOWS, "a Windows program"),
        (LINUX, "a Linux program"),
        (b"#!/bin/sh\nrm -r /\n", "a script"),
        (archive(), "a ZIP archive"),
        (b"<!DOCTYPE html><script>1</script>", "a web page"),
        (b"\n  <svg xmlns='http://www.w3.org/2000/svg'/>", "a web page or a drawing"),
        (b"GIF89a" + bytes(40), "a GIF"),
        (pictures.written(pictures.drawn(), format="TIFF"), "a TIFF"),
        (pictures.written(pictures.drawn(), format="WEBP"), "a WebP"),
        (pictures.written(pictures.drawn(), format="BMP"), "a bitmap"),
        (b"just some words", "not known"),
        (b"\x00", "not known"),
        (box(b"ftyp", b"isom\0\0\2\0isomavc1") + box(b"mdat", b"film"), "a film"),
        (box(b"ftyp", b"avif\0\0\0\0mif1avif"), "a newer kind"),
    ],
)
def test_what_is_no_photo_or_pdf_is_refused_by_its_name_in_the_trade(content, words):
    with pytest.raises(UnknownType, match=words):
        sniff(content)


def test_an_empty_file_is_refused():
    with pytest.raises(BrokenFile, match="empty"):
        sniff(b"")


@pytest.mark.parametrize("file_type", GOOD)
@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
def test_a_file_that_was_cut_short_is_refused(file_type, part):
    whole = GOOD[file_type]

    with pytest.raises((BrokenFile, UnknownType)):
        sniff(whole[: int(len(whole) * part)])


@pytest.mark.parametrize("file_type", GOOD)
def test_a_file_without_its_last_byte_is_refused(file_type):
    with pytest.raises(BrokenFile):
        sniff(GOOD[file_type].rstrip()[:-1])


BEHIND = [WINDOWS, LINUX, archive(), b"<script>alert(1)</script>", b"<?php ?>", b"\x01", PNG]


@pytest.mark.parametrize("file_type", GOOD)
@pytest.mark.parametrize("behind", BEHIND)
def test_anything_behind_the_end_is_refused(file_type, behind):
    with pytest.raises(BrokenFile):
        sniff(GOOD[file_type] + behind)


@pytest.mark.parametrize("file_type", [FileType.JPEG, FileType.PNG, FileType.HEIC])
def test_a_pdf_behind_a_picture_is_refused(file_type):
    with pytest.raises(BrokenFile):
        sniff(GOOD[file_type] + PDF)


@pytest.mark.parametrize("before", [b"\n", b"GIF89a", b"<html>", JPEG[:400], WINDOWS])
def test_a_pdf_begins_at_its_first_byte(before):
    with pytest.raises((BrokenFile, UnknownType)):
        sniff(before + PDF)


def test_a_picture_with_a_pdf_in_its_comment_is_refused():
    with pytest.raises(BrokenFile, match="also open as a PDF"):
        sniff(pictures.jpeg(comment=PDF[:400]))


def test_a_pdf_that_hides_an_archive_is_refused():
    """The archive lies in the PDF, and the PDF's end is the archive's comment."""
    head, tail = PDF[:15], PDF[15:]
    hidden = archive(comment=tail)
    polyglot = head + hidden
    assert zipfile.is_zipfile(io.BytesIO(polyglot))

    with pytest.raises(BrokenFile, match="ZIP"):
        sniff(polyglot)


def test_a_png_that_hides_an_archive_in_a_chunk_is_refused():
    behind = len(PNG) - 33 + 4
    hidden = archive(comment=bytes(behind))[:-behind]
    polyglot = pictures.with_chunk(PNG, b"prVt", hidden)
    assert zipfile.is_zipfile(io.BytesIO(polyglot))

    with pytest.raises(BrokenFile, match="ZIP"):
        sniff(polyglot)


def test_a_pdf_that_a_browser_would_take_for_a_page_is_refused():
    polyglot = PDF.replace(b"\n", b"\n%<script>alert(1)</script>\n", 1)

    with pytest.raises(BrokenFile, match="web page"):
        sniff(polyglot)


def test_a_pdf_may_end_with_an_empty_line():
    assert sniff(PDF.rstrip() + b"\r\n\n") == FileType.PDF
    with pytest.raises(BrokenFile, match="behind the end"):
        sniff(PDF + b"\n" * 2000)


def test_a_phones_brightness_map_and_film_behind_a_photo_are_let_pass():
    film = box(b"ftyp", b"mp42\0\0\0\0") + box(b"mdat", bytes(300))

    assert sniff(JPEG + pictures.jpeg(pictures.drawn(64, 48)) + bytes(16)) == FileType.JPEG
    assert sniff(JPEG + film) == FileType.JPEG


def test_a_phones_own_notes_behind_a_photo_are_let_pass():
    note = b"\x00\x00\x01\x0a" + b"Noted" * 4
    directory = b"SEFH" + struct.pack("<II", 106, 1) + b"\0\0\x01\x0a"
    directory += struct.pack("<II", len(note), len(note))
    notes = note + directory + struct.pack("<I", len(directory)) + b"SEFT"

    assert sniff(JPEG + notes) == FileType.JPEG
    with pytest.raises(BrokenFile):
        sniff(JPEG + WINDOWS + notes)


@pytest.mark.parametrize(
    "behind",
    [
        pictures.jpeg() + WINDOWS,
        bytes(16) + WINDOWS,
        struct.pack(">I", 9_000) + b"mdat" + bytes(20),
        box(b"ftyp", b"mp42") + archive(),
        b"SEFH" + bytes(8) + b"SEFT",
    ],
)
def test_a_camera_trailer_with_something_else_in_it_is_refused(behind):
    with pytest.raises(BrokenFile):
        sniff(JPEG + behind)
