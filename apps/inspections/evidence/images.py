"""Pictures: decoded whole, turned upright, freed of all metadata, and made small for lists.

What is kept is never the uploaded file but its pixels written anew, so nothing rides along:
no place, no owner, no serial number, no hidden film, no comment. A JPEG is written with its
own quantisation tables and subsampling, which loses next to nothing; a PNG loses nothing; a
HEIC is kept as a JPEG, because browsers and the completion file cannot show it otherwise. The
digest of evidence is that of the file as it is kept. Colour profiles go too.

Sources: CIPA DC-008 (Exif 2.32) for the tags, from memory. The limits are our own: a camera
of today has 12 to 50 megapixels and spends at least a byte on 40 pixels.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

import pillow_heif
from PIL import Image, ImageChops, ImageOps, JpegImagePlugin

from apps.inspections.evidence.sniff import BrokenFile, FileType, jpeg_end

pillow_heif.register_heif_opener()

MOST_PIXELS = 64_000_000
LONGEST_SIDE_PX = 30_000
# Above this size a picture that spends less than a byte on so many pixels is no photograph.
LARGE_PIXELS = 12_000_000
MOST_PIXELS_PER_BYTE = 200
MOST_BYTES = 25 * 1024 * 1024
THUMBNAIL_PX = 480
# For pictures that bring no tables of their own: no difference to be seen at this quality.
NEW_QUALITY = 92
COARSER = (80, 65)
THUMBNAIL_QUALITY = 80
DECODERS = {FileType.JPEG: "JPEG", FileType.PNG: "PNG", FileType.HEIC: "HEIF"}
END_OF_IMAGE = b"\xff\xd9"
NOISE = b"\x5a\xa5\x36\xc9" * 1024
TURNED = {5, 6, 7, 8}
ORIENTATION, EXIF_IFD, TAKEN, TAKEN_OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
OFFSET = re.compile(r"[+-]\d\d:\d\d")


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as it is kept, upright, with a JPEG of at most 480 px beside it."""

    content: bytes
    content_type: str
    width_px: int
    height_px: int
    taken_at: datetime | None
    thumbnail: bytes


def keep_picture(content: bytes, file_type: FileType, zone: tzinfo) -> Picture:
    """Decode a picture whole and write it anew.

    `zone` is where the picture was taken, for cameras that do not note their own.

    Raises:
        BrokenFile: it cannot be decoded to its last pixel, or is too large to be.
    """
    try:
        return decoded(content, file_type, zone)
    except BrokenFile:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as exc:
        raise BrokenFile(too_large()) from exc
    # Decoders meet hostile bytes with whatever they happen to trip over: OSError, ValueError,
    # SyntaxError, struct.error, zlib.error. All of them mean one thing.
    except Exception as exc:
        raise BrokenFile(f"The picture is damaged and cannot be shown ({exc}).") from exc


def decoded(content: bytes, file_type: FileType, zone: tzinfo) -> Picture:
    with Image.open(io.BytesIO(content), formats=[DECODERS[file_type]]) as opened:
        refuse_too_large(*opened.size, byte_size=len(content))
        opened.load()
        if file_type == FileType.JPEG:
            refuse_missing_part(opened, content)
        when = taken_at(opened, zone)
        how = like_the_original(opened)
        upright: Any = ImageOps.exif_transpose(opened)
        # Some of these are written out again if they are there (a comment, say).
        upright.info = {key: upright.info[key] for key in ("transparency",) if key in upright.info}
        if file_type != FileType.PNG and upright.mode not in {"L", "RGB"}:
            upright = upright.convert("RGB")
        return Picture(
            content=written(upright, how),
            content_type=FileType.PNG if file_type == FileType.PNG else FileType.JPEG,
            width_px=upright.width,
            height_px=upright.height,
            taken_at=when,
            thumbnail=thumbnail(upright),
        )


def written(upright: Image.Image, how: dict[str, Any]) -> bytes:
    """The picture anew; coarser, where that is ours to choose, until it is small enough."""
    for quality in (how.get("quality", NEW_QUALITY), *COARSER):
        out = io.BytesIO()
        upright.save(out, **({**how, "quality": quality} if "quality" in how else how))
        if out.tell() <= MOST_BYTES:
            return out.getvalue()
        if "quality" not in how:
            break
    raise BrokenFile(f"The picture is too large: kept, it has over {MOST_BYTES // 1024**2} MiB.")


def refuse_too_large(width_px: int, height_px: int, *, byte_size: int) -> None:
    """Judge a picture by its header, before a pixel is decoded.

    Raises:
        BrokenFile: it would fill the memory, or unfolds as no photograph does.
    """
    pixels = width_px * height_px
    if pixels > MOST_PIXELS or max(width_px, height_px) > LONGEST_SIDE_PX:
        raise BrokenFile(too_large())
    if pixels > LARGE_PIXELS and pixels > MOST_PIXELS_PER_BYTE * byte_size:
        raise BrokenFile(
            f"The picture says it has {pixels // 1_000_000} megapixels in "
            f"{byte_size // 1024} KiB; no photograph does."
        )


def refuse_missing_part(opened: Image.Image, content: bytes) -> None:
    """Refuse a JPEG that has its end marker but not all of its pixels.

    The decoder fills what is missing with grey and says nothing. So it is given the same file
    with noise before the end marker: a whole picture never gets to read it and stays the same.

    Raises:
        BrokenFile: the noise shows.
    """
    end = jpeg_end(content, 0) - len(END_OF_IMAGE)
    noisy = content[:end] + NOISE + END_OF_IMAGE
    with Image.open(io.BytesIO(noisy), formats=["JPEG"]) as again:
        if ImageChops.difference(opened, again).getbbox() is not None:
            raise BrokenFile("The picture is damaged: a part of it is missing.")


def too_large() -> str:
    return (
        f"The picture is too large: at most {MOST_PIXELS // 1_000_000} megapixels and "
        f"{LONGEST_SIDE_PX} pixels a side."
    )


def like_the_original(opened: Image.Image) -> dict[str, Any]:
    """How to write a picture anew with as little loss as its format allows."""
    if opened.format == "PNG":
        return {"format": "PNG"}
    # HEIC photos halve their colours both ways, as 2 does; CMYK does not.
    halved = 2 if opened.format == "HEIF" else 0
    how: dict[str, Any] = {"format": "JPEG", "quality": NEW_QUALITY, "subsampling": halved}
    if isinstance(opened, JpegImagePlugin.JpegImageFile) and opened.mode in {"L", "RGB"}:
        sampling = JpegImagePlugin.get_sampling(opened)
        turned = opened.getexif().get(ORIENTATION) in TURNED
        # 4:2:2 halves one direction only; turned, it would halve the wrong one.
        how["subsampling"] = 0 if sampling == 1 and turned else max(sampling, 0)
        if opened.quantization:
            del how["quality"]
            how["qtables"] = opened.quantization
    return how


def thumbnail(upright: Image.Image) -> bytes:
    """A JPEG of at most 480 px a side; what is transparent turns white."""
    small: Any = upright
    if small.mode.startswith("I"):
        # 16 bits of grey: the upper eight.
        small = small.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if "A" in small.mode or "transparency" in small.info:
        small = small.convert("RGBA")
        white = Image.new("RGBA", small.size, "white")
        small = Image.alpha_composite(white, small)
    small = small.convert("RGB")
    small.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX), reducing_gap=3.0)
    out = io.BytesIO()
    small.save(out, format="JPEG", quality=THUMBNAIL_QUALITY)
    return out.getvalue()


def taken_at(opened: Image.Image, zone: tzinfo) -> datetime | None:
    """When the shutter opened, by the camera's clock; None when it does not say.

    DateTimeOriginal is a local time; OffsetTimeOriginal says of which zone, and without it
    the picture was taken where the house is.
    """
    tags = opened.getexif().get_ifd(EXIF_IFD)
    noted = str(tags.get(TAKEN, "")).strip("\x00 ")
    offset = str(tags.get(TAKEN_OFFSET, "")).strip("\x00 ")
    try:
        if OFFSET.fullmatch(offset):
            return datetime.strptime(noted + offset, "%Y:%m:%d %H:%M:%S%z")
        return datetime.strptime(noted, "%Y:%m:%d %H:%M:%S").replace(tzinfo=zone)
    except ValueError:
        return None
