"""The pile as a sheet: out, in, tried first, and harmless where it is opened.

Sources: RFC 4180 for the sheet (read back with Python's `csv`); OWASP, "CSV Injection", for what a
spreadsheet takes for a formula.
"""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.timber.models import Defect, Piece
from apps.work.sheets import as_meant, harmless
from tests import factories, pictures
from tests.api.asking import is_problem
from tests.api.walk import viewer_of

IMPORT = "/api/v1/timber-pieces/import/"
EXPORT = "/api/v1/timber-pieces/export/"
HEADER = "mark,breadth_mm,depth_mm,length_mm,stored,defects"


def send(client, house, text, query="", name="pile.csv"):
    content = text if isinstance(text, bytes) else text.encode()
    return client.post(
        IMPORT + query, {"property": house.pk, "file": pictures.upload(content, name)}
    )


def sheet(*rows):
    return "\r\n".join([HEADER, *rows, ""])


def exported(client, house):
    return client.get(EXPORT, {"property": house.pk}).content


def cells(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


def test_the_pile_goes_out_as_a_sheet(client, house):
    piece = factories.PieceFactory(property=house, mark="T14", note='Says "keep",\nand more')
    factories.DefectFactory(piece=piece, kind="nails", from_mm=900, to_mm=2100, drawn=True)
    factories.PieceFactory()

    answer = client.get(EXPORT, {"property": house.pk})

    assert answer["Content-Type"].startswith("text/csv")
    assert "attachment" in answer["Content-Disposition"]
    [row] = cells(answer.content)
    assert (row["mark"], row["note"], row["length_mm"]) == (
        "T14", 'Says "keep",\nand more', "3000",
    )  # fmt: skip
    assert row["defects"] == "nails 900-2100 all moderate drawn"


def test_a_sheet_is_of_one_house_and_takes_the_lists_filters(client, house):
    factories.PieceFactory(property=house, mark="T1", stored="dry")
    factories.PieceFactory(property=house, mark="T2", stored="outside")

    dry = client.get(EXPORT, {"property": house.pk, "stored": "dry"})

    assert [row["mark"] for row in cells(dry.content)] == ["T1"]
    assert client.get(EXPORT).json()["errors"][0]["pointer"] == "/property"


def test_a_sheet_comes_in_as_it_went_out(client, house):
    for mark, note in (("T1", "=2+2"), ("T2", "'=2+2"), ("T3", "-"), ("T4", "ä, ö; “ü”")):
        piece = factories.PieceFactory(property=house, mark=mark, note=note, treated=True)
        factories.DefectFactory(piece=piece, face="top", severity="severe")
    content = exported(client, house)

    answer = send(client, house, content)

    assert answer.status_code == 200, answer.json()
    assert answer.json() == {
        "dry_run": False, "created": [], "changed": [], "errors": [],
        "unchanged": ["T1", "T2", "T3", "T4"],
    }  # fmt: skip
    assert exported(client, house) == content


def test_a_sheet_makes_the_same_pile_in_another_house(client, house):
    piece = factories.PieceFactory(property=house, mark="T1", origin="@roof", species="redwood")
    factories.DefectFactory(piece=piece, kind="split", from_mm=10, to_mm=400, face="left")
    other = factories.MemberFactory(user=house.owner, role="owner").property
    content = exported(client, house)

    answer = send(client, other, content)

    assert answer.json()["created"] == ["T1"]
    assert exported(client, other) == content


@given(st.text(st.sampled_from("=+-@\t'aé,;\n\" ＝"), max_size=8))
def test_any_cell_comes_in_as_it_went_out(cell):
    out = io.StringIO(newline="")
    csv.writer(out).writerow([harmless(cell), "end"])

    [[back, _]] = csv.reader(io.StringIO(out.getvalue(), newline=""), strict=True)

    assert as_meant(back) == cell
    assert back[:1] not in set("=+-@\t＝")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "＝"])
def test_no_cell_is_a_formula_where_the_sheet_is_opened(client, house, start):
    piece = factories.PieceFactory(property=house)
    piece.change(origin=f"{start}HYPERLINK(1)")

    [row] = cells(exported(client, house))

    assert row["origin"] == f"'{start}HYPERLINK(1)"


def test_a_sheet_adds_and_changes_and_leaves_the_rest_alone(client, house):
    factories.PieceFactory(property=house, mark="T1", stored="outside", note="kept")
    factories.PieceFactory(property=house, mark="T9")

    answer = send(
        client, house,
        sheet("T1,50,100,3000,dry,decay 0-300", "T2,47,147,2400,,nails 10-90 top drawn"),
    ).json()  # fmt: skip

    assert answer["created"] == ["T2"]
    assert answer["changed"] == [{"mark": "T1", "columns": ["stored", "defects"]}]
    assert Piece.objects.get(mark="T1").note == "kept"
    assert Piece.objects.filter(mark="T9").exists()
    assert Defect.objects.get(piece__mark="T2").drawn is True


def test_a_dry_run_tells_what_would_come_of_it_and_changes_nothing(client, house):
    piece = factories.PieceFactory(property=house, mark="T1", length_mm=3000)

    answer = send(
        client, house, sheet("T1,50,100,2900,,", "T2,47,147,2400,,"), "?dry_run=true"
    ).json()

    piece.refresh_from_db()
    assert (answer["dry_run"], answer["created"]) == (True, ["T2"])
    assert answer["changed"] == [{"mark": "T1", "columns": ["length_mm"]}]
    assert (piece.length_mm, piece.version, Piece.objects.count()) == (3000, 1, 1)


WRONG = sheet(
    "T1,50,100,3000,,",
    "T2,50,100,2.4 m,indoors,",
    "T3,50,100,3000,,decay 0-4000",
    "T1,50,100,3000,,",
    "T4,50,100,3000,,rot",
    "T5,50,100",
    ",50,100,3000,,",
    "T6,,100,3000,,",
    "T7,50,100,3000,,decay 0-300; decay 200-400",
)
ERRORS = [
    (3, "stored", "indoors"),
    (3, "length_mm", "whole millimetres"),
    (4, "defects", "beyond its end"),
    (5, "mark", "T1 is in row 2 already"),
    (6, "defects", "write the kind and from-to"),
    (7, "", "3 cells"),
    (8, "mark", "blank"),
    (9, "breadth_mm", "whole millimetres"),
    (10, "defects", "overlaps"),
]


def test_what_is_wrong_in_a_sheet_is_told_by_row_and_column(client, house):
    answer = send(client, house, WRONG, "?dry_run=1").json()

    told = {(error["row"], error["column"]): error["detail"] for error in answer["errors"]}
    assert list(told) == [(row, column) for row, column, _ in ERRORS]
    assert all(words in told[row, column] for row, column, words in ERRORS)
    assert answer["created"] == ["T1"]


def test_one_wrong_cell_keeps_the_whole_sheet_out(client, house):
    answer = send(client, house, WRONG)

    assert is_problem(answer, 400, "invalid")
    assert answer.json()["detail"].startswith("Nothing was imported. Row 3")
    pointers = [error["pointer"] for error in answer.json()["errors"]]
    assert pointers[:3] == ["/rows/3/stored", "/rows/3/length_mm", "/rows/4/defects"]
    assert not Piece.objects.exists()


def test_a_sheet_changes_no_state_and_nothing_that_a_plan_counts_on(client, house):
    factories.PieceFactory(property=house, mark="T1", state="reserved", length_mm=3000)

    state = send(client, house, "mark,state\nT1,in_stock\n", "?dry_run=1").json()["errors"]
    length = send(client, house, "mark,length_mm\nT1,2900\n", "?dry_run=1").json()["errors"]
    as_it_is = send(client, house, "mark,state,note\nT1,reserved,for J5\n").json()

    assert [(error["row"], error["column"]) for error in state] == [(2, "state")]
    assert "T1 is reserved" in length[0]["detail"]
    assert as_it_is["changed"] == [{"mark": "T1", "columns": ["note"]}]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"\n", "`mark` is missing"),
        (b"breadth_mm\n50\n", "`mark` is missing"),
        (b"mark,colour\nT1,red\n", "'colour' is none of them"),
        (b"mark,mark\nT1,T1\n", "there twice"),
        ("mark,note\nT1,\xe4\n".encode("latin-1"), "UTF-8"),
        (b'mark,note\nT1,"open\n', "no CSV"),
        (b"\x89PNG\r\n\x1a\n", "UTF-8"),
    ],
)
def test_what_is_no_sheet_of_a_pile_is_refused(client, house, content, words):
    answer = send(client, house, content)

    assert is_problem(answer, 400, "invalid")
    assert words in answer.json()["detail"]
    assert answer.json()["errors"][0]["pointer"] == "/file"


def test_a_sheet_is_not_larger_than_a_pile(client, house):
    large = send(client, house, b"mark,note\n" + b"T1,x\n" * 250_000)
    long = send(client, house, "mark\n" + "".join(f"T{n}\n" for n in range(501)))

    assert is_problem(large, 413, "too-large")
    assert is_problem(long, 413, "too-large")


def test_semicolons_a_mark_of_order_and_blank_lines_are_taken_too(client, house):
    text = "\ufeffMark;Breadth_mm;Depth_mm;Length_mm\r\n;;;\r\nT1;50;100;3000\r\n"

    assert send(client, house, text).json()["created"] == ["T1"]


def test_a_sheet_sent_without_its_file_or_house_is_told_so(client, house):
    answer = client.post(IMPORT, {"property": house.pk})
    strangers = send(client, factories.PropertyFactory(), sheet())

    assert answer.json()["errors"][0]["pointer"] == "/file"
    assert strangers.json()["errors"][0]["pointer"] == "/property"


def test_a_viewer_brings_nothing_in(house):
    assert is_problem(send(viewer_of(house), house, sheet()), 403, "not-allowed")


def test_a_sheet_sent_twice_with_a_key_is_taken_once(client, house):
    body = {"property": house.pk, "file": pictures.upload(sheet("T1,50,100,3000,,").encode())}
    again = {"property": house.pk, "file": pictures.upload(sheet("T1,50,100,3000,,").encode())}

    first = client.post(IMPORT, body, HTTP_IDEMPOTENCY_KEY="pile")
    second = client.post(IMPORT, again, HTTP_IDEMPOTENCY_KEY="pile")

    assert first.json() == second.json()
    assert first.json()["created"] == ["T1"]
