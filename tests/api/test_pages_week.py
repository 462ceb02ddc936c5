"""The week as answers: what a change would change, taking it, undoing it, and the two sheets."""

from __future__ import annotations

import io
import re
from datetime import time

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from apps.planning.models import Plan, WorkingTimeException
from apps.property.outlines import rectangle
from apps.trades import services as trade_services
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan

A4_POINTS = (595.28, 841.89)


@pytest.fixture(autouse=True)
def monday(monkeypatch, handed_out):
    """It is Monday, 5 January 2026, 08:00; plans are made at once."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: MONDAY)


@pytest.fixture
def book(house):
    """A browser of the owner; the house has boards to lift before a plumber comes on Thursday."""
    house.mar = crew(house)
    house.work = package(house)
    house.boards = floor_with_boards(house)
    house.lift = factories.TaskFactory(
        package=house.work, title="Lift the boards", floor=house.boards, floor_action="lift",
        area=rectangle(1000, 600),
    )  # fmt: skip
    trade = factories.TradeFactory(property=house, name="Perrin", phone="01632 960014")
    house.visit = factories.VisitFactory(
        property=house, trade=trade, title="First fix", state="agreed", starts=at(3, 9),
        ends=at(3, 11),
    )  # fmt: skip
    house.need = factories.AccessNeedFactory(
        property=house, floor=house.boards, visit=house.visit, area=rectangle(1000, 600)
    )
    plan(house, horizon_days=28)
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def said(book):
    return book.session["said"][-1]


def undo(book):
    line = said(book)
    return book.post(line["undo"], dict(line["fields"]))


def try_visit(book, visit, on="2026-01-06", at="09:00", minutes=120, **fields):
    sent = {"on": on, "at": at, "minutes": minutes, **fields}
    return book.post(f"/week/visit/{visit.pk}/try/", sent)


def shown(book, answer):
    """The page that an answer sends one to."""
    assert answer.status_code == 302, answer.text
    return book.get(answer["Location"]).text


def tried():
    return Plan.objects.filter(what_if__isnull=False).latest("pk")


def accept(book, **fields):
    return book.post(f"/week/changes/{tried().pk}/accept/", fields)


def text_of(page):
    """The words of a page."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_trying_a_visit_at_another_time_keeps_nothing_and_tells_what_changes(house, book):
    current = Plan.objects.get(is_current=True)

    page = text_of(shown(book, try_visit(book, house.visit, at="08:00", on="2026-01-08")))

    house.visit.refresh_from_db()
    assert "First fix comes Thu 8 Jan, 08:00–10:00. " in page
    assert "First fix Thu 8 Jan, 09:00, ready Thu 8 Jan, 08:00, ready" in page
    assert "First fix moves from Thu 8 Jan, 09:00 to Thu 8 Jan, 08:00." in page
    assert "First fix was moved from Thu 8 Jan, 09:00 to Thu 8 Jan, 08:00." in page
    assert "Accept" in page
    assert house.visit.starts == at(3, 9)
    assert Plan.objects.get(is_current=True) == current


def test_a_visit_that_comes_too_soon_is_told_as_new_trouble(house, book):
    page = text_of(shown(book, try_visit(book, house.visit, on="2026-01-05", at="14:00")))

    assert "As planned is better: agreed visits and looks are better prepared." in page
    assert "Mon 5 Jan, 14:00, NOT READY" in page
    assert "New trouble act “First fix” on Mon 5 Jan, 14:00 is not ready" in page


@pytest.mark.parametrize("state", ["agreed", "wanted", "asked", "missed"])
def test_what_is_accepted_is_done_and_planned_and_undone_again(house, book, state):
    if state in {"wanted", "asked"}:
        trade_services.withdraw_visit(visit=house.visit)
    if state == "asked":
        trade_services.ask_for_visit(visit=house.visit)
    if state == "missed":
        trade_services.miss_visit(visit=house.visit)
    house.visit.refresh_from_db()
    before = house.visit.state, house.visit.starts, house.visit.ends
    try_visit(book, house.visit)

    answer = accept(book)

    house.visit.refresh_from_db()
    moved = house.visit.state, house.visit.starts, house.visit.ends
    current = Plan.objects.get(is_current=True)
    undone = undo(book)
    house.visit.refresh_from_db()
    assert answer["Location"] == f"/week/?property={house.pk}&on=2026-01-06"
    assert moved == ("agreed", at(1, 9), at(1, 11))
    assert current.stints.get(visit=house.visit).starts == at(1, 9)
    assert undone["Location"] == f"/week/?property={house.pk}&on=2026-01-06"
    assert (house.visit.state, house.visit.starts, house.visit.ends) == before
    assert Plan.objects.get(is_current=True).pk > current.pk


def test_what_one_accepts_is_the_plan_one_saw(house, book):
    factories.TaskFactory(package=house.work, title="Clean the joists")
    try_visit(book, house.visit, on="2026-01-07")
    seen = list(tried().stints.values_list("task", "visit", "starts", "ends"))

    accept(book)

    current = Plan.objects.get(is_current=True)
    assert list(current.stints.values_list("task", "visit", "starts", "ends")) == seen


def test_a_visit_that_changed_since_it_was_tried_is_not_moved(house, book):
    page = shown(book, try_visit(book, house.visit))
    version = re.search(r'name="version" value="(\d+)"', page).group(1)
    trade_services.agree_visit(visit=house.visit, starts=at(4, 9), ends=at(4, 11))

    accept(book, version=version, back="/week/")

    house.visit.refresh_from_db()
    assert said(book)["sentence"] == "First fix changed since you opened it."
    assert house.visit.starts == at(4, 9)


def test_what_was_tried_against_an_older_plan_is_tried_again_first(house, book):
    try_visit(book, house.visit)
    old = tried()
    plan(house, horizon_days=28)

    page = book.get(f"/week/changes/{old.pk}/").text
    accept(book, back="/week/")
    refused = said(book)
    again = shown(book, book.post(f"/week/changes/{old.pk}/again/"))

    house.visit.refresh_from_db()
    assert "Try it again" in page
    assert "Accept" not in page
    assert refused["sentence"] == "There is a newer plan: see what changes against that one first."
    assert house.visit.starts == at(3, 9)
    assert "Accept" in again


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"state": "solving"}, "It is being worked out."),
        ({"state": "failed", "failure": "The planner stopped."}, "The planner stopped."),
    ],
)
def test_what_is_not_worked_out_says_so_and_is_not_accepted(house, book, fields, words):
    try_visit(book, house.visit)
    Plan.objects.filter(pk=tried().pk).update(**fields)

    page = book.get(f"/week/changes/{tried().pk}/").text
    accept(book, back="/week/")

    house.visit.refresh_from_db()
    assert words in page
    assert "Accept" not in page
    assert said(book)["sentence"] == "This was not worked out to its end."
    assert house.visit.starts == at(3, 9)


def test_a_day_on_which_the_trade_does_not_come_is_asked_about(house, book):
    house.visit.trade.change(days=[3], notice_days=5)

    doubted = text_of(shown(book, try_visit(book, house.visit, on="2026-01-07")))
    fine = text_of(shown(book, try_visit(book, house.visit, on="2026-01-15")))

    words = "ask Perrin: comes Thu, 08:00–17:00; wants 5 days’ notice."
    assert f"{words} Is Wed 7 Jan, 09:00–11:00 possible?" in doubted
    assert "possible?" not in fine


def test_a_trade_that_is_here_for_another_visit_then_is_not_moved(house, book):
    other = factories.VisitFactory(
        property=house, trade=house.visit.trade, title="Second fix", state="agreed",
        starts=at(1, 10), ends=at(1, 12),
    )  # fmt: skip
    try_visit(book, house.visit)

    accept(book, back="/week/")

    house.visit.refresh_from_db()
    assert "another visit: Second fix" in said(book)["sentence"]
    assert (house.visit.starts, other.starts) == (at(3, 9), at(1, 10))


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"on": "2026-01-05", "at": "07:00"}, "That is past; pick a time still to come."),
        ({"on": "2027-03-05"}, "Pick a day within a year."),
        ({"on": "soon"}, "Enter a valid date."),
        ({"minutes": 5}, "Ensure this value is greater than or equal to 15."),
    ],
)
def test_what_is_wrong_with_a_time_is_said_at_its_field(house, book, fields, sentence):
    answer = try_visit(book, house.visit, **fields)

    assert answer.status_code == 400
    assert sentence in text_of(answer.text)
    assert "field-error" in answer.text
    assert not Plan.objects.filter(what_if__isnull=False).exists()


def test_a_visit_that_has_been_is_not_moved(house, book):
    trade_services.finish_visit(visit=house.visit, at=MONDAY)

    page = book.get(f"/week/visit/{house.visit.pk}/").text
    answer = try_visit(book, house.visit, back="/week/")

    assert "See what changes" not in page
    assert answer.status_code == 302
    assert said(book)["sentence"] == "First fix has been; it cannot be moved."


def test_a_day_off_is_tried_taken_and_given_back(house, book):
    kept = WorkingTimeException.objects.create(
        person=house.mar, date="2026-01-05", starts=time(9), ends=time(12), note="Half a day"
    )
    sent = {"person": house.mar.pk, "date": "2026-01-05"}

    page = text_of(shown(book, book.post("/week/day-off/try/", sent)))
    nothing_yet = WorkingTimeException.objects.get() == kept
    accept(book)
    taken = [(row.starts, row.ends) for row in WorkingTimeException.objects.all()]
    undo(book)

    assert "Mar has Mon 5 Jan off. " in page
    assert nothing_yet
    assert taken == [(None, None)]
    back = WorkingTimeException.objects.get()
    assert (back.date.isoformat(), back.starts, back.ends, back.note) == (
        "2026-01-05", time(9), time(12), "Half a day",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("on", "words", "stretches"),
    [
        ("2026-01-06", "Mar works 20:00–22:00 more on Tue 6 Jan.", [(time(18), time(22))]),
        ("2026-01-10", "Mar works 18:30–20:30 more on Sat 10 Jan.", [(time(18, 30), time(20, 30))]),
    ],
)
def test_two_hours_more_join_the_usual_ones_and_undo_takes_them_out(
    house, book, on, words, stretches
):
    sent = {"person": house.mar.pk, "date": on}

    page = text_of(shown(book, book.post("/week/two-hours/try/", sent)))
    accept(book)
    worked = [(row.starts, row.ends) for row in WorkingTimeException.objects.all()]
    undo(book)

    assert words in page
    assert worked == stretches
    assert not WorkingTimeException.objects.exists()


def test_on_a_bank_holiday_two_hours_more_are_the_only_ones(house, book):
    house.change(work_on_bank_holidays=False)
    # Good Friday.
    book.post("/week/two-hours/try/", {"person": house.mar.pk, "date": "2026-04-03"})

    accept(book)

    row = WorkingTimeException.objects.get()
    assert (row.starts, row.ends) == (time(18, 30), time(20, 30))


def remedy(sentence, what_if):
    return {"kind": "drop_task", "sentence": sentence, "what_if": what_if}


def test_what_does_not_fit_is_shown_with_what_would_help_and_tried(house, book):
    other = factories.TaskFactory(package=house.work, title="Paint the gate")
    current = Plan.objects.get(is_current=True)
    about = {"kind": "task", "id": other.pk, "name": "Paint the gate"}
    current.change(
        unplaced=[{
            "about": about, "code": "crew_busy", "sentence": "No hours are left for it.",
            "short_minutes": 60, "by": [], "taken_by": [],
            "remedies": [
                remedy("Leave “Paint the gate” for another time.", {"drop_tasks": [other.pk]}),
                remedy("Do it in more than one go.", None),
            ],
        }]
    )  # fmt: skip
    sent = {"plan": current.pk, "of": "unplaced", "row": 0, "remedy": 0}

    page = book.get("/week/").text
    wrong = [
        book.post("/week/remedy/try/", {**sent, **other})
        for other in ({"remedy": 1}, {"row": 9}, {"of": "alerts"}, {"plan": 10**9}, {"row": "x"})
    ]
    what_changes = text_of(shown(book, book.post("/week/remedy/try/", sent)))
    accept(book)
    other.refresh_from_db()
    dropped = other.status
    undo(book)
    other.refresh_from_db()

    assert "No hours are left for it." in page
    assert page.count("See what changes") == 2  # The button and its longer name.
    assert [answer.status_code for answer in wrong] == [400, 400, 400, 404, 400]
    assert "“Paint the gate” is left out." in what_changes
    assert (dropped, other.status) == ("dropped", "to_do")


def test_a_field_of_undo_that_is_not_ours_undoes_nothing(house, book):
    theirs = factories.VisitFactory(state="agreed", starts=at(3, 9), ends=at(3, 11))

    answers = [
        book.post("/week/back/", {"before": before})
        for before in (
            "", "[]", '{"visits": [[1]], "hours": [], "tasks": []}',
            f'{{"visits": [[{theirs.pk}, "wanted", null, null]], "hours": [], "tasks": []}}',
        )
    ]  # fmt: skip

    theirs.refresh_from_db()
    assert [answer.status_code for answer in answers] == [400, 400, 400, 404]
    assert theirs.state == "agreed"
    assert Plan.objects.count() == 1


def test_without_a_plan_there_is_nothing_to_compare_with(house, book):
    Plan.objects.all().delete()

    answer = try_visit(book, house.visit)

    assert answer.status_code == 400
    assert "Make a plan first" in answer.text


def test_odds_and_what_moved_are_on_the_page(house, book):
    factories.TaskFactory(package=house.work, title="Lift more", earliest_start=at(0, 8))
    made = plan(house, horizon_days=28)

    page = text_of(book.get("/week/").text)

    assert made.odds["visits"][0]["sentence"] in page
    assert made.odds["finish"]["sentence"] in page
    assert made.changes[0]["sentence"] in page
    assert made.changes[0]["because"]["sentence"] in page


def pdf_text(answer):
    assert answer["Content-Type"] == "application/pdf", answer.text
    reader = PdfReader(io.BytesIO(answer.content))
    sizes = {tuple(round(float(side), 2) for side in one.mediabox[2:]) for one in reader.pages}
    assert sizes == {A4_POINTS}
    return re.sub(r"\s+", " ", " ".join(one.extract_text() for one in reader.pages))


def test_the_access_sheet_says_where_what_is_safe_and_who_to_ring(house, book):
    house.mar.change(phone="01632 960040")
    factories.TemporaryMeasureFactory(
        property=house, kind="isolated_circuit", where="Hall lights, way 4"
    )
    factories.TemporaryMeasureFactory(
        property=house, where="Long gone", cleared_at=at(0, 7), since=at(-3, 7)
    )
    factories.FindingFactory(
        property=house, kind="asbestos_suspected", title="Grey board in the cupboard"
    )
    factories.FindingFactory(property=house, title="Soft end", floor=house.boards)
    factories.FindingFactory(property=house, title="Damp somewhere else")
    other = factories.TradeFactory(property=house, craft="electrician", name="Odile")
    factories.AccessNeedFactory(
        property=house, floor=house.boards, purpose="Pull the ring", trade=other,
        visit=factories.VisitFactory(property=house, trade=other),
    )  # fmt: skip
    house.boards.boards.filter(mark="B1.1").update(state="up")

    page = text_of(book.get(f"/week/visit/{house.visit.pk}/").text)
    sheet = pdf_text(book.get(f"/week/visit/{house.visit.pk}/sheet"))

    for told in (page, sheet):
        assert "Isolated circuit: Hall lights, way 4" in told
        assert "Asbestos suspected: Grey board in the cupboard" in told
        assert "keep out, and have it sampled by a competent person" in told
        assert "Soft end" in told
        assert "01632 960040" in told
        assert "Run the waste" in told
        assert "Prove every circuit dead" in told
        for another in ("Long gone", "Damp somewhere else", "Pull the ring", "Odile"):
            assert another not in told
    assert "Thursday 8 January, 09:00–11:00" in page
    assert "3 still to open , 1 open" in page
    assert "Thu 8 Jan, 09:00–11:00, for Perrin" in sheet
    assert "B1.1 B2.1, B3.1, B4.1" in sheet
    assert "Up when you come: B1.1, B2.1, B3.1, B4.1." in sheet
    assert re.search(r"Scale 1:\d+ when printed at 100 %", sheet)


def test_a_visit_that_needs_nothing_open_still_has_a_sheet(house, book):
    visit = factories.VisitFactory(property=house)

    assert "Nothing is to be opened" in pdf_text(book.get(f"/week/visit/{visit.pk}/sheet"))


def test_the_week_goes_onto_paper(house, book):
    sheet = pdf_text(book.get("/week/sheet.pdf?on=2026-01-06"))

    assert "Week 2: Mon 5 Jan – Sun 11 Jan" in sheet
    assert "18:00–20:00 Lift the boards" in sheet
    assert "Perrin comes (agreed): First fix" in sheet
    assert "Lift: B1.1, B2.1, B3.1, B4.1" in sheet
    assert "Mar 18:00–20:00" in sheet


def test_a_viewer_reads_everything_and_tries_nothing(house, book):
    try_visit(book, house.visit)
    pk = tried().pk
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)

    pages = [
        viewer.get(address)
        for address in (
            "/week/", f"/week/visit/{house.visit.pk}/", f"/week/changes/{pk}/",
            f"/week/visit/{house.visit.pk}/sheet", "/week/sheet.pdf",
        )
    ]  # fmt: skip
    posts = [viewer.post(address) for address in posted(house, pk)]

    assert [answer.status_code for answer in pages] == [200] * 5
    assert all("/try/" not in page.text and "/accept/" not in page.text for page in pages[:3])
    assert [answer.status_code for answer in posts] == [403] * len(posts)


def test_a_stranger_finds_nothing(house, book):
    try_visit(book, house.visit)
    pk = tried().pk
    stranger = signed_in(factories.MemberFactory().user)

    got = [
        stranger.get(address)
        for address in (
            f"/week/visit/{house.visit.pk}/", f"/week/changes/{pk}/",
            f"/week/visit/{house.visit.pk}/sheet", f"/week/sheet.pdf?property={house.pk}",
        )
    ]  # fmt: skip
    posts = [stranger.post(address, {"property": house.pk}) for address in posted(house, pk)]
    own = [stranger.post(address) for address in (f"/week/visit/{house.visit.pk}/try/",
                                                  f"/week/changes/{pk}/accept/")]  # fmt: skip

    assert [answer.status_code for answer in got + posts + own] == [404] * (len(posts) + 6)
    assert house.name not in "".join(answer.text for answer in got)


def posted(house, pk):
    return [
        f"/week/visit/{house.visit.pk}/try/", "/week/day-off/try/", "/week/two-hours/try/",
        "/week/remedy/try/", f"/week/changes/{pk}/again/", f"/week/changes/{pk}/accept/",
        "/week/back/",
    ]  # fmt: skip


def test_a_visit_of_many_boards_costs_no_more_queries_than_one_of_few(house, book):
    def queries():
        cache.clear()
        with CaptureQueriesContext(connection) as counted:
            page = book.get(f"/week/visit/{house.visit.pk}/")
        return page.text.count("<li>B"), len(counted)

    queries()  # The first visit notes which house is looked at.
    few, cost_of_few = queries()
    house.need.change(area=rectangle(1000, 2400))
    for course in range(5, 17):
        factories.BoardFactory(floor=house.boards, course=course, mark=f"B{course}.1")
    many, cost_of_many = queries()

    assert few < many
    assert cost_of_many == cost_of_few <= 60
