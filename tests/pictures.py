"""Pictures and documents drawn for tests: the record ships none."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import pillow_heif
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw
from pypdf import PdfWriter
from pypdf.actions import JavaScript
from pypdf.generic import NameObject, StreamObject

pillow_heif.register_heif_opener()

GPS, EXIF, ORIENTATION, MAKER = 0x8825, 0x8769, 0x0112, 0x010F
TAKEN, TAKEN_OFFSET = 0x9003, 0x9011


def drawn(width: int = 640, height: int = 480, mode: str = "RGB") -> Image.Image:
    """A grey joist on white, its top left corner red."""
    made = Image.new("RGB", (width, height), "white")
    pencil = ImageDraw.Draw(made)
    pencil.rectangle((width // 4, height // 3, width * 3 // 4, height // 2), fill="grey")
    pencil.rectangle((0, 0, width // 8, height // 8), fill="red")
    return made.convert(mode)


def exif(taken: str = "2026:03:02 19:00:00", offset: str = "", orientation: int = 1) -> Image.Exif:
    """What a camera notes: its maker, when, and where (51° 30′ N, 0° 7′ W)."""
    made = Image.Exif()
    made[MAKER] = "Invented camera works"
    made[ORIENTATION] = orientation
    made[EXIF] = {TAKEN: taken, **({TAKEN_OFFSET: offset} if offset else {})}
    made[GPS] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
    return made


def jpeg(picture: Image.Image | None = None, **how: Any) -> bytes:
    return written(picture or drawn(), format="JPEG", **how)


def png(picture: Image.Image | None = None, **how: Any) -> bytes:
    return written(picture or drawn(), format="PNG", **how)


def heic(picture: Image.Image | None = None, **how: Any) -> bytes:
    return written(picture or drawn(), format="HEIF", **how)


def written(picture: Image.Image, **how: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, **how)
    return out.getvalue()


def pdf_of(byte_size: int) -> bytes:
    """A PDF of exactly this size, blank space for the most part."""
    filler = byte_size - 2000
    return pdf(filler=filler + byte_size - len(pdf(filler=filler)))


def pdf(
    *, pages: int = 1, script: str = "", attached: bytes = b"", password: str = "", filler: int = 0
) -> bytes:
    writer = PdfWriter()
    if filler:
        stream = StreamObject()
        stream.set_data(b" " * filler)
        writer.root_object[NameObject("/Filler")] = writer._add_object(stream)
    for _ in range(pages):
        writer.add_blank_page(595, 842)
    if script:
        writer.add_open_action(JavaScript(script))
    if attached:
        writer.add_attachment("tool.bin", attached)
    if password:
        writer.encrypt(password, algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


class Upload(SimpleUploadedFile):
    """A file to send in a form, as often as wanted."""

    def read(self, *args: Any) -> bytes:
        self.seek(0)
        return super().read(*args)


def upload(content: bytes | None = None, name: str = "IMG_0001.JPG") -> Upload:
    return Upload(name, jpeg() if content is None else content, "image/jpeg")


def read(content: bytes) -> Image.Image:
    opened = Image.open(io.BytesIO(content))
    opened.load()
    return opened


def chunk(name: bytes, content: bytes) -> bytes:
    """One chunk of a PNG: length, name, content, CRC."""
    crc = struct.pack(">I", zlib.crc32(name + content))
    return struct.pack(">I", len(content)) + name + content + crc


def with_chunk(content: bytes, name: bytes, inside: bytes) -> bytes:
    """A PNG with one more chunk, straight behind its IHDR."""
    return content[:33] + chunk(name, inside) + content[33:]


def png_bomb(width: int, height: int) -> bytes:
    """A PNG of nothing but zeros: some thousand times smaller than what it unfolds to."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    packer = zlib.compressobj(9)
    row = bytes(width + 1)
    packed = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts
