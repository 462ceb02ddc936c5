"""Boards kept open for a visit: asked for, refused, ended and held again on pages."""

from __future__ import annotations

from datetime import date

import pytest

from apps.floors.models import Board
from apps.planning.ground import touched_by
from apps.trades import services
from apps.trades.models import AccessNeed
from tests import factories
from tests.api.test_pages_house_edits import post, signed_in, text, undo


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


@pytest.fixture
def floor(house):
    """Six boards of 3000 × 150 mm, B1.1 to B6.1, and two joists under them."""
    made = factories.FloorFactory(property=house, name="Hall floor")
    for course in range(1, 7):
        factories.BoardFactory(floor=made, course=course)
    for number, x in ((1, 400), (2, 800)):
        factories.JoistFactory(floor=made, mark=f"J{number}", line=[[x, 0], [x, 900]])
    return made


@pytest.fixture
def visit(house):
    trade = factories.TradeFactory(property=house, name="Sparks")
    return factories.VisitFactory(property=house, trade=trade, title="First fix")


def asked(browser, visit, floor, **fields):
    told = {"floor": floor.pk, "purpose": "Cable", "open_as": "up", "until": "visit_done", **fields}
    return browser.post(f"/house/visits/{visit.pk}/open/", told, follow=True)


def touched(house):
    """The marks of the boards that each need holds."""
    boards = {row.pk: row for row in Board.objects.filter(floor__property=house)}
    needs = AccessNeed.objects.order_by("pk")
    found = touched_by(boards.values(), [(need.pk, need) for need in needs])
    return [sorted(boards[pk].mark for pk in ids) for ids in found.values()]


def test_boards_beside_each_other_are_one_need_and_go_with_undo(browser, house, floor, visit):
    answer = asked(browser, visit, floor, marks="b2.1, B3.1 B4.1", open_as="unfixed")
    need = AccessNeed.objects.get()
    held = touched(house)
    undo(browser, answer)

    assert "Open for First fix: Cable, until they have been." in text(answer)
    assert (need.trade, need.visit, need.open_as) == (visit.trade, visit, "unfixed")
    assert held == [["B2.1", "B3.1", "B4.1"]]
    assert not AccessNeed.objects.exists()


def test_boards_apart_are_a_need_each_and_go_together(browser, house, floor, visit):
    answer = asked(browser, visit, floor, marks="B1.1, B5.1")
    held = touched(house)
    undo(browser, answer)

    assert held == [["B1.1"], ["B5.1"]]
    assert not AccessNeed.objects.exists()


def test_over_a_joist_is_a_route_along_it_with_room_on_each_side(browser, house, floor, visit):
    asked(browser, visit, floor, marks="J1", clearance_mm="20cm")

    need = AccessNeed.objects.get()
    assert (need.area, need.route, need.clearance_mm) == (None, [[400, 0], [400, 900]], 200)
    assert len(touched(house)[0]) == 6


def test_no_marks_are_the_whole_floor(browser, house, floor, visit):
    asked(browser, visit, floor)

    assert len(touched(house)[0]) == 6


def test_a_need_may_end_on_a_day(browser, house, floor, visit):
    answer = asked(browser, visit, floor, until="date", until_date="2026-12-24")

    assert AccessNeed.objects.get().until_date == date(2026, 12, 24)
    assert "until 24 December 2026" in text(answer)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"marks": "B1.1, B99.1 J7"}, "There is no B99.1, J7 on Hall floor."),
        ({"purpose": ""}, "This field is required."),
        ({"until": "date"}, "Say until which day."),
        ({"until_date": "2026-12-24"}, "With a day, choose “until a day”."),
        ({"marks": "J1", "clearance_mm": "3m"}, "Clearance is at most 2000 mm."),
    ],
)
def test_what_cannot_be_opened_is_said_in_the_form_and_nothing_is_kept(
    browser, house, floor, visit, wrong, said
):
    answer = asked(browser, visit, floor, **wrong)

    assert answer.status_code == 400
    assert said in text(answer)
    assert not AccessNeed.objects.exists()


def test_one_place_that_is_refused_leaves_no_other_behind(browser, house, floor, visit):
    asked(browser, visit, floor, marks="B1.1 J1 J2", clearance_mm="150")
    floor.joists.filter(mark="J2").update(line=[[9000, 0], [9000, 900]])
    before = AccessNeed.objects.count()

    answer = asked(browser, visit, floor, marks="B2.1 J2")

    assert before == 3
    assert "past the outline of Hall floor" in text(answer)
    assert AccessNeed.objects.count() == before


def test_a_visit_that_is_over_opens_nothing_any_more(browser, house, floor, visit):
    shown = f"/house/visits/{visit.pk}/boards/"
    visit.change(state="done", starts="2026-12-01T08:00Z", ends="2026-12-01T10:00Z")

    answer = asked(browser, visit, floor)

    assert "They have been already" in text(answer)
    assert "They have been already" in text(browser.get(shown))
    assert not AccessNeed.objects.exists()


def test_a_need_is_ended_with_its_reason_and_held_again(browser, house, floor, visit):
    need = factories.AccessNeedFactory(property=house, floor=floor, visit=visit)

    answer = post(browser, f"/house/needs/{need.pk}/release/", note="They use the attic", version=1)
    need.refresh_from_db()
    ended = (need.released_at is not None, need.release_note)
    again = undo(browser, answer)

    need.refresh_from_db()
    assert ended == (True, "They use the attic")
    assert "not held any more: They use the attic" in text(answer)
    assert (need.released_at, need.release_note) == (None, "")
    assert "Held open again: Run the waste, until they have been." in text(again)


def test_holding_again_is_undone_with_the_reason_that_was_given(browser, house, floor, visit):
    need = factories.AccessNeedFactory(property=house, floor=floor, visit=visit)
    post(browser, f"/house/needs/{need.pk}/release/", note="They use the attic")

    undo(browser, post(browser, f"/house/needs/{need.pk}/hold/", version=2))

    need.refresh_from_db()
    assert need.release_note == "They use the attic"


def test_ending_wants_a_reason_and_what_stands_now(browser, house, floor, visit):
    need = factories.AccessNeedFactory(property=house, floor=floor, visit=visit)
    services.release_need(need=need, note="Gone", at=visit.property.members.get().user.date_joined)

    without = post(browser, f"/house/needs/{need.pk}/release/", version=2)
    stale = post(browser, f"/house/needs/{need.pk}/release/", note="No", version=1)

    need.refresh_from_db()
    assert "Say why they need not stay open" in text(without)
    assert "The book has by now: not held any more: Gone." in text(stale)
    assert need.release_note == "Gone"


def test_a_need_typed_by_mistake_is_taken_off_and_comes_back(browser, house, floor, visit):
    need = factories.AccessNeedFactory(property=house, floor=floor, visit=visit)
    page = f"/house/visits/{visit.pk}/"

    answer = post(browser, "/house/remove/", kind="need", ids=need.pk, version=1, back=page)
    gone = not AccessNeed.objects.exists()
    undo(browser, answer)

    assert gone
    assert answer.redirect_chain[-1][0] == page
    assert AccessNeed.objects.get().purpose == "Run the waste"


def test_a_viewer_sees_what_is_open_and_is_refused_every_form(house, floor, visit):
    need = factories.AccessNeedFactory(property=house, floor=floor, visit=visit)
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)
    shown = text(viewer.get(f"/house/visits/{visit.pk}/"))
    form = text(viewer.get(f"/house/visits/{visit.pk}/boards/"))

    answers = [
        viewer.post(f"/house/{path}/", {"note": "x"}, HTTP_X_FROM_QUEUE="1").status_code
        for path in (
            f"visits/{visit.pk}/open", f"needs/{need.pk}/release", f"needs/{need.pk}/hold",
        )
    ]  # fmt: skip

    assert "Run the waste" in shown
    assert "End it" not in shown
    assert "Keep them open" not in form
    assert answers == [403, 403, 403]


def test_another_houses_floor_and_need_are_not_there(browser, house, floor, visit):
    theirs = factories.AccessNeedFactory()

    answer = asked(browser, visit, theirs.floor)

    assert "Select a valid choice" in text(answer)
    assert browser.post(f"/house/needs/{theirs.pk}/release/", {"note": "x"}).status_code == 404
    assert AccessNeed.objects.count() == 1
