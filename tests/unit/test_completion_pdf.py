"""The sheets as a PDF, opened with pypdf, a library that had no part in making it."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pypdf
import pytest
from PIL import Image

from apps.inspections.completion.pdf import pdf_of
from apps.inspections.completion.sheets import sheets
from tests.unit.records import board, floor, joist, package, record, room

MADE_AT = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
STOREYS = [{"id": 1, "name": "Ground floor", "level": 0}]


def pdf(told, pictures=None):
    small = {int(name.removeprefix("thumb-")) for name in pictures or {}}
    page = sheets(told, record_sha256="ab" * 32, thumbnails=small)
    return pdf_of(page, made_at=MADE_AT, pictures=pictures or {})


def read(content):
    return pypdf.PdfReader(io.BytesIO(content))


def text(content):
    """All words of a PDF without the spaces, so that a line's end does not matter."""
    said = " ".join(page.extract_text() for page in read(content).pages)
    return "".join(said.split())


def squeezed(words):
    return "".join(words.split())


def test_an_empty_house_has_sheets_that_say_so():
    said = text(pdf(record()))

    for words in ("14 Tidemill Lane", "nothing finished yet", "No work is recorded.",
                  "No inspection is recorded.", "Nothing has been signed off.",
                  "No evidence is on file.", "Nothing is recorded as owed."):  # fmt: skip
        assert squeezed(words) in said


def test_it_says_that_it_decides_nothing_on_its_first_page():
    first = squeezed(read(pdf(record())).pages[0].extract_text())

    for caution in record()["cautions"]:
        assert squeezed(caution) in first


def test_it_is_tagged_titled_and_in_english():
    catalog = read(pdf(record())).trailer["/Root"]

    assert catalog["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en-GB"
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert read(pdf(record())).metadata.title == "Completion file: 14 Tidemill Lane"


def test_it_claims_the_accessibility_standard_that_it_was_checked_against():
    # ISO 14289-1: the part in the XMP metadata. typst refuses to write it where it finds a
    # breach; no other validator was at hand.
    assert read(pdf(record())).xmp_metadata.stream.get_data().count(b"pdfuaid:part") > 0


def test_every_font_is_in_the_file():
    reader = read(pdf(record(storeys=STOREYS, floors=[floor(joists=[joist()])])))

    fonts = [
        font.get_object()["/DescendantFonts"][0].get_object()
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        assert {"/FontFile2", "/FontFile3"} & set(font["/FontDescriptor"])


def test_the_same_record_gives_the_same_bytes():
    told = record(packages=[package("Lift the boards")])

    assert pdf(told) == pdf(told)


def test_drawings_state_their_scale_and_their_words_can_be_found():
    told = record(
        storeys=STOREYS,
        rooms=[room()],
        floors=[floor(joists=[joist("J7", condition="decayed")],
                      boards=[board("B3.1", was_lifted=True)])],
    )  # fmt: skip

    said = text(pdf(told))

    for words in ("plan at 1:50 on A4", "J7 D", "B3.1", "1 m at 1:50", "joist sections at 1:10"):
        assert squeezed(words) in said


@pytest.mark.parametrize(
    "words",
    [
        '#import "@preview/x:1.0.0": *',
        '#read("/etc/passwd")',
        "#{panic(1)}",
        "] #pagebreak() [",
        "\\ \\u{41} \\] $x^2$",
        "*b* _i_ `raw` <label> @ref = no heading",
        "- no list / no term: x",
        "// no comment /* at all */",
        "\"quoted\" 'single' -- --- ...",
        "</svg><script>1</script>&amp;",
        "{{ x }} {% y %}",
    ],
)
def test_what_looks_like_markup_comes_out_as_text(words):
    told = record(
        storeys=STOREYS,
        packages=[package(words, title=words, note=words)],
        floors=[floor(name=words)],
        rooms=[room(words[:28])],
        owed=[{"kind": "hold_point", "id": 1, "sentence": words}],
        house={**record()["house"], "name": words, "address": words},
    )

    content = pdf(told)

    # Name on the cover, title and note of the package, its task, the floor, the owed sentence.
    assert text(content).count(squeezed(words)) >= 7
    assert read(content).metadata.title == f"Completion file: {words}"


def test_accents_and_other_alphabets_come_out_as_themselves():
    words = "Bódvar Łukasz Ångström Ελένη Дмитрий ½ × – → ☐"

    assert squeezed(words) in text(pdf(record(packages=[package(words)])))


def test_a_character_without_a_picture_is_written_as_its_code():
    said = text(pdf(record(packages=[package("床 beam 🪵 done 👍🏽")])))

    assert "[U+5E8A]beam[U+1FAB5]done[U+1F44D][U+1F3FD]" in said


def test_a_character_that_turns_the_writing_around_is_seen_and_does_not_act():
    said = text(pdf(record(packages=[package("paid \u202edetcejer\u202c")])))

    assert "paid[U+202E]detcejer[U+202C]" in said


@pytest.mark.parametrize("code", ["\x00", "\x07", "\x1b", "\ufeff", "\u2028", "\ue000", "\u20dd"])
def test_an_unseen_character_in_a_room_name_does_not_break_the_drawing(code):
    told = record(storeys=STOREYS, rooms=[room(f"Par{code}lour")], floors=[floor()])

    assert f"Par[U+{ord(code):04X}]lour" in text(pdf(told))


def test_a_very_long_text_stays_on_the_page_whole():
    long = "x" * 3000
    told = record(
        packages=[package(long, title="y" * 400, note=long)],
        findings=[
            {
                "id": 1, "kind": "decay", "title": "z" * 120, "note": "w" * 500, "room": None,
                "floor": None, "found_at": "2026-02-02T20:00:00+00:00", "decision": "",
                "decided_at": None,
            }
        ],
    )  # fmt: skip

    content = pdf(told)

    said = text(content)
    assert said.count("x") >= 6000
    assert "w" * 500 in said
    # 170 mm hold fewer than 110 of the letters in which it is set: longer runs were not broken.
    runs = [run for page in read(content).pages for run in page.extract_text().split()]
    assert max(len(run) for run in runs) < 110


def test_line_breaks_in_a_note_are_kept_apart():
    said = " ".join(p.extract_text() for p in read(
        pdf(record(packages=[package(note="first line\r\nsecond line")]))).pages)  # fmt: skip

    assert "first line\nsecond line" in said


def test_a_chain_that_does_not_hold_is_said_above_the_sign_offs():
    rows = [
        {
            "id": 9, "digest": "12" * 32,
            "entry": {
                "number": 1, "inspection": 3, "task": None, "result": "overridden",
                "seen_by": "Mar", "seen_at": "2026-03-01T09:00:00Z", "note": "",
                "supersedes": None, "reason": "Rain coming in",
                "recorded_at": "2026-03-01T09:00:00Z", "previous_digest": "",
                "stated": {"inspection": {"title": "Joist ends as they were"}},
            },
        }
    ]  # fmt: skip
    look = {
        "id": 3, "title": "Joist ends, renamed", "by": "building_control", "state": "due",
        "floor": None, "rooms": [], "looks_at": [], "blocks": [], "notice_working_days": 1,
        "notified_at": None, "booked_starts": None, "reference": "", "note": "", "source": "",
        "required_evidence": [],
    }  # fmt: skip
    broken = "number 1 is not what its digest was made of"

    said = text(pdf(record(sign_offs=rows, inspections=[look], chain_mismatch=broken)))

    assert said.index(squeezed(broken)) < said.index("12" * 32)
    # Titles are those of the day of signing; an override says what it was.
    assert squeezed("Joist ends as they were") in said
    assert squeezed("Overridden by the owner") in said
    assert squeezed("Rain coming in") in said


@pytest.mark.parametrize("size", [(480, 320), (3, 480), (480, 3)])
def test_a_picture_of_any_shape_stands_beside_its_caption(size):
    image = io.BytesIO()
    Image.new("RGB", size, "grey").save(image, "JPEG")
    one = {
        "id": 4, "title": "Joist ends", "kind": "photo", "content_type": "image/jpeg",
        "byte_size": 1234, "sha256": "cd" * 32, "file": "evidence/0004-cdcdcdcdcdcd.jpg",
        "kept": "unaltered", "taken_at": None, "width_px": 4, "height_px": 4,
        "uploaded_at": "2026-02-02T20:00:00+00:00", "uploaded_by": "mar", "requirement": "",
        "inspection": None, "condition": None, "deviation": None, "certificate": None,
        "finding": None,
    }  # fmt: skip

    content = pdf(record(evidence=[one]), {"thumb-4": image.getvalue()})

    assert sum(len(page.images) for page in read(content).pages) == 1
    assert "cd" * 32 in text(content)
