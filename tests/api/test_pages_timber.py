"""The timber screen as answers: what is shown, noted, cut and undone, and by whom."""

from __future__ import annotations

import io
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from apps.timber.models import CuttingPlan, MoistureReading, Need, Piece
from tests import factories

HOSTILE = "<script>alert(1)</script>"


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def piece_of(house, **fields):
    return factories.PieceFactory(property=house, **fields)


def cut_of(house, **plan):
    """A part of 349 mm on an old rafter, in a plan that is a proposal."""
    plan = factories.CuttingPlanFactory(property=house, **plan)
    piece = piece_of(house, mark="T14")
    bar = factories.CuttingBarFactory(plan=plan, piece=piece)
    return factories.CutFactory(bar=bar, place=0)


def post(browser, path, **fields):
    return browser.post(path, fields, follow=True)


def undo(browser, answer):
    """Press Undo on the page just shown."""
    html = answer.content.decode().partition('<div class="said-line')[2]
    form = re.search(r'<form[^>]* action="([^"]+)"[^>]*>(.*?)<button>Undo', html, re.DOTALL)
    fields = re.findall(r'name="(\w+)" value="([^"]*)"', form[2])
    return post(browser, form[1], **dict(fields))


def text(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


def test_the_pile_shows_pieces_found_by_mark_and_state(browser, house):
    piece_of(house, mark="T1")
    piece_of(house, mark="T2", state="used")

    there, used = browser.get("/timber/"), browser.get("/timber/?state=used&q=t2")

    assert (">T1<" in text(there), ">T2<" in text(there)) == (True, False)
    assert (">T1<" in text(used), ">T2<" in text(used)) == (False, True)


def test_what_people_typed_is_shown_as_words(browser, house):
    piece = piece_of(house, mark="<i>x", origin=HOSTILE)
    need = factories.NeedFactory(property=house, title=HOSTILE)

    for path in ("/timber/", f"/timber/piece/{piece.pk}/", f"/timber/need/{need.pk}/"):
        assert HOSTILE not in text(browser.get(path))


def test_the_pile_asks_as_often_for_many_pieces_as_for_few(browser, house):
    factories.NeedFactory(property=house)
    factories.MoistureReadingFactory(piece=piece_of(house))
    browser.get("/timber/")
    with CaptureQueriesContext(
        connection,
    ) as few:
        browser.get("/timber/")
    for _ in range(4):
        factories.MoistureReadingFactory(piece=piece_of(house))
        factories.NeedFactory(property=house)
    with CaptureQueriesContext(connection) as many:
        browser.get("/timber/")

    assert len(many) == len(few)


def test_a_reading_is_noted_forecast_and_undone(browser, house):
    piece = piece_of(house)

    answer = post(browser, f"/timber/piece/{piece.pk}/read/", measured_pct="26,5", at_mm="1.2m")
    reading = MoistureReading.objects.get()
    undone = undo(browser, answer)

    assert (reading.measured_pct, reading.at_mm) == (26.5, 1200)
    assert "should be below 20 % by" in text(answer)
    assert "Moisture of " in text(answer)
    assert "Removed:" in text(undone)
    assert not MoistureReading.objects.exists()


def test_a_reading_that_cannot_be_is_refused_in_a_sentence(browser, house):
    piece = piece_of(house)
    path, back = f"/timber/piece/{piece.pk}/read/", f"/timber/piece/{piece.pk}/"

    answers = [
        post(browser, path, back=back, **wrong)
        for wrong in ({"measured_pct": "wet"}, {"measured_pct": "140"}, {"measured_pct": ""},
                      {"measured_pct": "18", "at_mm": "9 m"}, {"measured_pct": "nan"})
    ]  # fmt: skip

    assert all("not done" in text(answer) for answer in answers)
    assert "this is beyond it" in text(answers[3])
    assert not MoistureReading.objects.exists()


def test_a_piece_is_added_with_lengths_as_people_write_them_and_taken_off_again(browser, house):
    sent = {"mark": "T9", "length_mm": "7'10\"", "breadth_mm": "100", "depth_mm": "5cm",
            "source": "salvaged", "stored": "outside"}  # fmt: skip

    answer = post(browser, "/timber/add/", **sent)
    piece = Piece.objects.get(mark="T9")
    undo(browser, answer)

    assert (piece.length_mm, piece.breadth_mm, piece.depth_mm) == (2388, 50, 100)
    assert not Piece.objects.exists()


def test_a_piece_that_cannot_be_says_why_at_its_fields(browser, house):
    piece_of(house, mark="T9")
    sent = {"mark": "T9", "length_mm": "2.4", "breadth_mm": "50", "depth_mm": "100",
            "source": "salvaged", "stored": "dry"}  # fmt: skip

    unread = browser.post("/timber/add/", sent)
    twice = browser.post("/timber/add/", {**sent, "length_mm": "2.4m"})

    assert (unread.status_code, twice.status_code) == (400, 400)
    assert "Say which unit 2.4 is in." in text(unread)
    assert 'id="id_mark_error"' in text(twice)


def test_defects_are_noted_beside_the_others_removed_and_put_back(browser, house):
    piece = piece_of(house)
    factories.DefectFactory(piece=piece)
    path = f"/timber/piece/{piece.pk}"

    answer = post(browser, f"{path}/defect/", kind="nails", severity="slight", from_mm="1m",
                  to_mm="1100")  # fmt: skip
    nails = piece.defects.get(kind="nails")
    drawn = post(browser, f"{path}/nails/", defect=nails.pk, drawn="yes")
    nails.refresh_from_db()
    undo(browser, answer)
    gone = post(browser, f"{path}/no-defect/", defect=piece.defects.get().pk)
    undo(browser, gone)

    assert (nails.from_mm, nails.drawn) == (1000, True)
    assert "Nails of" in text(drawn)
    assert [(one.kind, one.to_mm) for one in piece.defects.all()] == [("decay", 300)]


def test_a_piece_is_scrapped_with_a_reason_and_brought_back(browser, house):
    piece = piece_of(house)

    answer = post(browser, f"/timber/piece/{piece.pk}/scrap/", reason="worm right through")
    piece.refresh_from_db()
    was = piece.state
    undo(browser, answer)
    piece.refresh_from_db()

    assert (was, piece.state) == ("scrapped", "in_stock")


def test_a_need_says_of_each_piece_why_not(browser, house):
    piece_of(house, mark="SHORT", length_mm=300)
    factories.MoistureReadingFactory(piece=piece_of(house, mark="FITS"), measured_pct=14)
    need = factories.NeedFactory(property=house)

    shown = text(browser.get(f"/timber/need/{need.pk}/"))

    fits, rejected = shown.split("Why not the others")
    assert "FITS</a> fits" in fits
    assert "SHORT" in rejected
    assert "of 349 mm" in rejected


def test_a_plan_is_asked_for_and_gone_by_and_let_go(
    browser, house, django_capture_on_commit_callbacks
):
    need = factories.NeedFactory(property=house, moisture_limit_pct=None)
    piece = piece_of(house)

    with django_capture_on_commit_callbacks(execute=True):
        browser.post("/timber/ask/", {"kerf_mm": "4"})
    plan = CuttingPlan.objects.get()
    proposal = text(browser.get(f"/timber/plan/{plan.pk}/"))
    applied = post(browser, f"/timber/plan/{plan.pk}/apply/")
    piece.refresh_from_db()
    reserved = piece.state
    undo(browser, applied)
    piece.refresh_from_db()

    assert plan.kerf_mm == 4
    assert "One tape pull from the marked end" in proposal
    assert need.title in proposal
    assert (reserved, piece.state) == ("reserved", "in_stock")


def test_a_plan_for_nothing_is_refused(browser, house):
    answer = post(browser, "/timber/ask/", back="/timber/")

    assert "Nothing is wanted that is not planned already." in text(answer)
    assert not CuttingPlan.objects.exists()


def test_a_part_is_noted_as_sawn_and_taken_back(browser, house):
    cut = cut_of(house)
    path = f"/timber/plan/{cut.bar.plan_id}"
    Piece.objects.update(state="in_stock")
    post(browser, f"{path}/apply/")

    answer = post(browser, f"/timber/cut/{cut.pk}/", actual_mm="348")
    cut.refresh_from_db()
    sawn = (cut.actual_mm, Need.objects.get().state, Piece.objects.get(mark="T14").state)
    undo(browser, answer)
    cut.refresh_from_db()

    assert sawn == (348, "met", "used")
    assert (cut.actual_mm, Piece.objects.get(mark="T14").state) == (None, "reserved")


def test_the_cut_list_prints_every_mark_from_the_one_end(browser, house):
    cut = cut_of(house)
    cut.change(title=f"Noggin {HOSTILE} #[x]")

    answer = browser.get(f"/timber/plan/{cut.bar.plan_id}/sheet.pdf")
    pages = PdfReader(io.BytesIO(answer.content)).pages
    printed = " ".join(page.extract_text() for page in pages)

    assert [round(float(side)) for side in pages[0].mediabox[2:]] == [595, 842]
    for words in ("T14", "50 × 100 × 3000 mm", "100", "449", "saw beyond", "marked end",
                  "measure again", HOSTILE, "#[x]", "2448 mm of T14"):  # fmt: skip
        assert words in printed


def test_a_piece_still_too_wet_for_its_task_is_said_on_every_page_of_the_cutting(browser, house):
    cut = cut_of(house, state="applied", applied_at="2026-03-01T12:00:00Z")
    cut.need.change(task=factories.TaskFactory(package__property=house))
    factories.MoistureReadingFactory(piece=cut.bar.piece, measured_pct=60)
    path = f"/timber/plan/{cut.bar.plan_id}/"

    printed = PdfReader(io.BytesIO(browser.get(f"{path}sheet.pdf").content)).pages[0]

    for shown in (text(browser.get("/timber/")), text(browser.get(path))):
        assert "T14 was 60 %" in shown
    assert "WET: T14 was" in printed.extract_text()


def test_a_viewer_looks_and_changes_nothing_and_a_stranger_sees_nothing(house):
    cut = cut_of(house)
    need, piece, plan = cut.need, cut.bar.piece, cut.bar.plan
    viewer = factories.UserFactory()
    factories.MemberFactory(property=house, user=viewer, role="viewer")
    stranger = factories.MemberFactory(role="owner").user
    pages = ["/timber/new/", f"/timber/piece/{piece.pk}/", f"/timber/need/{need.pk}/",
             f"/timber/plan/{plan.pk}/", f"/timber/plan/{plan.pk}/sheet.pdf"]  # fmt: skip
    acts = ["/timber/ask/", "/timber/add/", f"/timber/plan/{plan.pk}/apply/",
            f"/timber/plan/{plan.pk}/undo/", f"/timber/cut/{cut.pk}/",
            f"/timber/cut/{cut.pk}/take-back/", *(
                f"/timber/piece/{piece.pk}/{act}/"
                for act in ("read", "defect", "no-defect", "nails", "scrap", "back", "remove")
            )]  # fmt: skip

    looking, passing = signed_in(viewer), signed_in(stranger)

    for path in pages:
        assert looking.get(path).status_code == 200
        assert "data-queue" not in looking.get(path).content.decode("latin-1")
    assert [looking.post(path).status_code for path in acts] == [403] * len(acts)
    assert [passing.get(path).status_code for path in pages[1:]] == [404] * 4
    sent = {"actual_mm": "10", "measured_pct": "10", "reason": "x"}
    assert [passing.post(path, sent).status_code for path in acts[2:6]] == [404] * 4
    assert passing.post(f"/timber/piece/{piece.pk}/read/", sent).status_code == 404
