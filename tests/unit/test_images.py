"""Pictures as they are kept, read again with Pillow; and PDFs, written with pypdf."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

from apps.inspections.evidence.images import keep_picture
from apps.inspections.evidence.pdfs import check_document
from apps.inspections.evidence.sniff import BrokenFile, FileType, UnknownType, sniff
from tests import pictures

LONDON = ZoneInfo("Europe/London")


def kept(content: bytes, file_type: FileType = FileType.JPEG, zone: ZoneInfo = LONDON):
    return keep_picture(content, file_type, zone)


def is_red(pixel) -> bool:
    return pixel[0] > 200 and pixel[1] < 60 and pixel[2] < 60


@pytest.mark.parametrize(
    ("file_type", "write"),
    [
        (FileType.JPEG, pictures.jpeg),
        (FileType.PNG, pictures.png),
        (FileType.HEIC, pictures.heic),
    ],
)
def test_neither_place_nor_camera_is_left_in_the_kept_file(file_type, write):
    content = write(exif=pictures.exif())
    assert pictures.read(content).getexif().get_ifd(pictures.GPS)

    picture = kept(content, file_type)

    for written in (picture.content, picture.thumbnail):
        again = pictures.read(written)
        assert dict(again.getexif()) == {}
        assert again.getexif().get_ifd(pictures.GPS) == {}
        assert b"Invented camera" not in written
        assert b"Exif" not in written


def test_comments_texts_and_profiles_go_too():
    noted = pictures.jpeg(comment=b"by the creek", xmp=b"<x:xmpmeta>creek</x:xmpmeta>")
    texts = pictures.with_chunk(pictures.png(), b"tEXt", b"Comment\0by the creek")
    profile = pictures.jpeg(icc_profile=b"creek" * 100)

    assert b"creek" not in kept(noted).content
    assert b"creek" not in kept(texts, FileType.PNG).content
    assert b"creek" not in kept(profile).content


def test_a_photo_is_kept_upright():
    """Orientation 6: the camera was turned, the top left corner is stored at the top right."""
    lying = pictures.drawn(640, 480).transpose(Image.Transpose.ROTATE_90)
    content = pictures.jpeg(lying, exif=pictures.exif(orientation=6), quality=95)

    picture = kept(content)

    again = pictures.read(picture.content)
    assert (picture.width_px, picture.height_px) == again.size == (640, 480)
    assert is_red(again.getpixel((10, 10)))
    assert is_red(pictures.read(picture.thumbnail).getpixel((5, 5)))


def test_a_png_loses_no_pixel():
    drawing = pictures.drawn(300, 200)

    picture = kept(pictures.png(drawing), FileType.PNG)

    assert picture.content_type == "image/png"
    assert pictures.read(picture.content).tobytes() == drawing.tobytes()


def test_a_jpeg_is_written_with_its_own_tables_and_stays_nearly_the_same():
    content = pictures.jpeg(quality=70)

    again, before = pictures.read(kept(content).content), pictures.read(content)

    assert again.quantization == before.quantization
    apart = [abs(a - b) for a, b in zip(again.tobytes(), before.tobytes(), strict=True)]
    # Rounding, and halved colours at sharp edges: half of one step of 255 is our own limit.
    assert sum(apart) / len(apart) < 0.5


def test_the_same_photo_is_kept_as_the_same_bytes():
    content = pictures.jpeg(exif=pictures.exif())

    assert kept(content).content == kept(content).content


def test_a_heic_is_kept_as_a_jpeg_of_the_same_picture():
    picture = kept(pictures.heic(quality=90), FileType.HEIC)

    again = pictures.read(picture.content)
    assert (picture.content_type, again.format, again.size) == ("image/jpeg", "JPEG", (640, 480))
    assert is_red(again.getpixel((10, 10)))
    assert again.getpixel((600, 440))[0] > 240


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_a_png_of_any_mode_has_a_small_picture(mode):
    drawing = (
        Image.new("I;16", (900, 600), 40_000) if mode == "I;16" else pictures.drawn(900, 600, mode)
    )

    small = pictures.read(kept(pictures.png(drawing), FileType.PNG).thumbnail)

    assert (small.format, small.size) == ("JPEG", (480, 320))
    # 40,000 of 65,535 is 156 of 255; the others are white in that corner.
    assert small.getpixel((470, 310))[0] in (range(150, 163) if mode == "I;16" else range(250, 256))


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_a_jpeg_of_another_colour_space_is_kept(mode):
    picture = kept(pictures.jpeg(pictures.drawn(mode=mode)))

    assert pictures.read(picture.content).mode == ("L" if mode == "L" else "RGB")


def test_a_small_photo_is_not_blown_up():
    picture = kept(pictures.jpeg(pictures.drawn(120, 80)))

    assert pictures.read(picture.thumbnail).size == (120, 80)


@pytest.mark.parametrize(
    ("noted", "offset", "zone", "instant"),
    [
        # By hand: London is at UTC in March until the 29th, then an hour ahead.
        ("2026:03:02 19:00:00", "", "Europe/London", "2026-03-02T19:00Z"),
        ("2026:07:02 19:00:00", "", "Europe/London", "2026-07-02T18:00Z"),
        ("2026:07:02 19:00:00", "", "America/New_York", "2026-07-02T23:00Z"),
        ("2026:07:02 19:00:00", "+02:00", "Europe/London", "2026-07-02T17:00Z"),
        ("2026:07:02 19:00:00", "-09:30", "Europe/London", "2026-07-03T04:30Z"),
        ("2026:07:02 19:00:00", "   :  ", "Europe/London", "2026-07-02T18:00Z"),
    ],
)
def test_when_it_was_taken_is_by_the_cameras_zone_or_else_the_houses(noted, offset, zone, instant):
    content = pictures.jpeg(exif=pictures.exif(noted, offset))

    taken_at = kept(content, zone=ZoneInfo(zone)).taken_at

    assert taken_at.astimezone(UTC) == datetime.fromisoformat(instant)


@pytest.mark.parametrize("noted", ["0000:00:00 00:00:00", "    :  :     :  :  ", "yesterday", ""])
def test_a_camera_without_a_clock_says_nothing(noted):
    assert kept(pictures.jpeg(exif=pictures.exif(noted))).taken_at is None


def test_a_photo_without_notes_has_no_time():
    assert kept(pictures.jpeg()).taken_at is None


def test_the_time_of_a_heic_is_read():
    content = pictures.heic(exif=pictures.exif("2026:07:02 19:00:00").tobytes())

    assert kept(content, FileType.HEIC).taken_at == datetime(2026, 7, 2, 18, tzinfo=UTC)


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("subsampling", [0, 2])
def test_a_jpeg_with_an_end_but_not_all_its_pixels_is_refused(progressive, subsampling):
    """The decoder would fill the rest with grey and say nothing."""
    whole = pictures.jpeg(
        pictures.drawn(800, 600), quality=95, progressive=progressive, subsampling=subsampling
    )
    holed = whole[: len(whole) // 2] + whole[-2:]

    with pytest.raises(BrokenFile, match="damaged"):
        kept(holed)


def test_a_png_with_a_spoilt_byte_is_refused():
    spoilt = bytearray(pictures.png())
    spoilt[len(spoilt) // 2] ^= 0xFF

    with pytest.raises(BrokenFile, match="damaged"):
        kept(bytes(spoilt), FileType.PNG)


@pytest.mark.parametrize(
    ("width", "height", "words"),
    [
        (9_000, 9_000, "at most 64 megapixels"),
        (40_000, 100, "30000 pixels a side"),
        (7_000, 7_000, "no photograph does"),
    ],
)
def test_a_picture_that_unfolds_to_fill_the_memory_is_refused(width, height, words):
    bomb = pictures.png_bomb(width, height)
    assert len(bomb) < width * height / 200

    with pytest.raises(BrokenFile, match=words):
        kept(bomb, FileType.PNG)


def test_a_header_that_lies_about_its_size_is_refused():
    """2 gigapixels by the header alone: judged before any pixel is decoded."""
    small = bytearray(pictures.png_bomb(10, 10))
    small[16:24] = (46_000).to_bytes(4, "big") * 2
    lying = bytes(small[:8]) + pictures.chunk(b"IHDR", bytes(small[16:29])) + bytes(small[33:])

    with pytest.raises(BrokenFile, match="too large"):
        kept(lying, FileType.PNG)


@pytest.mark.parametrize("name", [b"zTXt", b"iTXt"])
def test_a_text_that_unfolds_to_fill_the_memory_is_refused(name):
    import zlib

    packed = zlib.compress(bytes(50_000_000), 9)
    head = b"Comment\0\0" if name == b"zTXt" else b"Comment\0\x01\0\0\0"
    bomb = pictures.with_chunk(pictures.png(), name, head + packed)

    with pytest.raises(BrokenFile, match="damaged"):
        kept(bomb, FileType.PNG)


@pytest.mark.parametrize("pages", [1, 3])
def test_a_plain_pdf_is_counted(pages):
    assert check_document(pictures.pdf(pages=pages)) == pages


def test_a_pdf_with_a_script_is_refused():
    with pytest.raises(BrokenFile, match="act by itself"):
        check_document(pictures.pdf(script="app.alert('hello')"))


def test_a_pdf_that_carries_a_file_is_refused():
    with pytest.raises(BrokenFile, match="carries other files"):
        check_document(pictures.pdf(attached=b"MZ"))


def names(**entries: str) -> DictionaryObject:
    return DictionaryObject(
        {NameObject(f"/{key}"): NameObject(value) for key, value in entries.items()}
    )


def pdf_with(where: str, action: DictionaryObject, *, packed: bool = False) -> bytes:
    writer = PdfWriter()
    page = writer.add_blank_page(595, 842)
    (page if where == "/AA" else writer.root_object)[NameObject(where)] = writer._add_object(action)
    out = io.BytesIO()
    if packed:
        writer.compress_identical_objects()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize("does", ["/Launch", "/SubmitForm", "/ImportData", "/GoToE", "/Rendition"])
@pytest.mark.parametrize("where", ["/OpenAction", "/AA"])
def test_a_pdf_that_acts_is_refused_wherever_the_action_hangs(where, does):
    action = names(S=does)
    hung = DictionaryObject({NameObject("/O"): action}) if where == "/AA" else action

    with pytest.raises(BrokenFile, match="act by itself"):
        check_document(pdf_with(where, hung))


def test_a_script_whose_name_is_spelt_in_numbers_is_found():
    content = pdf_with("/OpenAction", names(S="/JavaScript"))
    spelt = content.replace(b"/JavaScript", b"/J#61vaScript")
    assert spelt != content

    with pytest.raises(BrokenFile, match="act by itself"):
        check_document(spelt)


def test_a_pdf_that_opens_at_a_page_is_plain():
    action = names(S="/GoTo")
    action[NameObject("/D")] = TextStringObject("first")

    assert check_document(pdf_with("/OpenAction", action)) == 1


def test_a_pdf_with_a_password_is_refused():
    with pytest.raises(BrokenFile, match="password"):
        check_document(pictures.pdf(password="creek"))


def test_a_pdf_of_too_many_pages_is_refused():
    with pytest.raises(BrokenFile, match="501"):
        check_document(pictures.pdf(pages=501))


@pytest.mark.parametrize(
    "content", [b"%PDF-1.7\n%%EOF", b"%PDF-1.7\n" + b"1 0 obj<<>>endobj\n" * 9 + b"%%EOF"]
)
def test_a_pdf_with_nothing_in_it_is_refused(content):
    with pytest.raises(BrokenFile, match="PDF"):
        check_document(content)


SPOILT = {
    FileType.JPEG: pictures.jpeg(pictures.drawn(64, 48), exif=pictures.exif()),
    FileType.PNG: pictures.png(pictures.drawn(64, 48), exif=pictures.exif()),
    FileType.HEIC: pictures.heic(pictures.drawn(64, 48)),
    FileType.PDF: pictures.pdf(),
}


@pytest.mark.parametrize("file_type", SPOILT)
@settings(max_examples=60, database=None, deadline=None, derandomize=True)
@given(st.data())
def test_whatever_was_done_to_a_file_it_is_kept_or_refused_with_a_sentence(file_type, data):
    content = bytearray(SPOILT[file_type])
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        put = data.draw(st.binary(max_size=6))
        content[at : at + data.draw(st.integers(0, 6))] = put

    try:
        found = sniff(bytes(content))
        result = (
            check_document(bytes(content))
            if found == FileType.PDF
            else pictures.read(kept(bytes(content), found).content).size
        )
    except (BrokenFile, UnknownType) as refused:
        result = str(refused)

    assert result
