"""The floor screen as answers: who may see and move what, what is refused, how it is undone."""

from __future__ import annotations

import io
import re

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from apps.floors.models import Board, BoardMove
from tests import factories

A4_POINTS = (595.28, 841.89)
POINTS_PER_MM = 72 / 25.4


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def floor_of(house, boards=3, **fields):
    """A floor of 3 × 4 m under a room, with some boards over two joists."""
    storey = factories.StoreyFactory(property=house)
    factories.RoomFactory(property=house, storey=storey)
    floor = factories.FloorFactory(property=house, storey=storey, **fields)
    for n in range(2):
        line = [[200 + 1200 * n, 0], [200 + 1200 * n, 4000]]
        factories.JoistFactory(floor=floor, mark=f"J{n + 1}", line=line)
    for n in range(boards):
        factories.BoardFactory(
            floor=floor, course=n + 1, outline=rectangle(0, 150 * n, 1500, 150 * n + 150)
        )
    return floor


def rectangle(left, low, right, high):
    return [[left, low], [right, low], [right, high], [left, high], [left, low]]


def states(floor):
    return list(floor.boards.order_by("course").values_list("state", flat=True))


def move(browser, boards, to_state, **fields):
    sent = {"board": [board.pk for board in boards], "to_state": to_state, **fields}
    return browser.post("/floor/move/", sent)


def said(browser):
    return browser.session["said"][-1]


def test_a_house_without_a_storey_says_what_to_do_first(browser):
    page = browser.get("/floor/")

    assert page.status_code == 200
    assert "nothing to draw" in page.text


def test_every_board_is_on_the_drawing_and_in_the_list(house, browser):
    floor = floor_of(house)

    page = browser.get("/floor/").text

    for board in floor.boards.all():
        assert page.count(f'data-board="{board.pk}"') == 1
        assert page.count(f'name="board" value="{board.pk}"') == 1


def test_a_stranger_finds_no_floor_no_board_no_sheet_and_moves_nothing(house):
    floor = floor_of(house)
    board = floor.boards.first()
    stranger = signed_in(factories.MemberFactory().user)

    answers = [
        stranger.get(f"/floor/?property={house.pk}"),
        stranger.get(f"/floor/?floor={floor.pk}"),
        stranger.get(f"/floor/board/{board.pk}/"),
        stranger.get(f"/floor/sheet.pdf?property={house.pk}"),
        move(stranger, [board], "up", property=house.pk),
    ]

    assert [answer.status_code for answer in answers[:1] + answers[2:]] == [404] * 4
    assert all(floor.name not in answer.text for answer in answers)
    assert states(floor) == ["fixed"] * 3


def test_boards_of_another_house_cannot_be_moved_from_ones_own(house, browser):
    floor_of(house)
    theirs = factories.BoardFactory()

    answer = move(browser, [theirs], "up")

    assert answer.status_code == 400
    assert Board.objects.get(pk=theirs.pk).state == "fixed"


def test_a_viewer_sees_the_floor_and_moves_nothing(house):
    floor = floor_of(house)
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)

    page = viewer.get("/floor/")
    answer = move(viewer, floor.boards.all(), "up")

    assert page.status_code == 200
    assert 'name="to_state"' not in page.text
    assert answer.status_code == 403
    assert states(floor) == ["fixed"] * 3


def test_picked_boards_move_together_and_undo_puts_them_back(house, browser):
    floor = floor_of(house)

    moved = move(browser, floor.boards.all()[:2], "up", note="To look at J2")
    line = said(browser)
    after = states(floor)
    browser.post(line["undo"], dict(line["fields"]))

    assert moved.status_code == 302
    assert after == ["up", "up", "fixed"]
    assert line["sentence"].startswith("Lifted: B")
    assert states(floor) == ["fixed"] * 3
    assert BoardMove.objects.count() == 2
    assert said(browser)["undo"]


def test_boards_that_are_so_already_are_named_and_left(house, browser):
    floor = floor_of(house)
    first, second = floor.boards.all()[:2]
    move(browser, [first], "loose")

    move(browser, [first, second], "loose")

    assert f"{first.mark} was so already." in said(browser)["sentence"]
    assert states(floor) == ["loose", "loose", "fixed"]


def test_boards_of_two_floors_move_at_once_and_are_undone_at_once(house, browser):
    one, two = floor_of(house), floor_of(house)

    move(browser, [*one.boards.all()[:1], *two.boards.all()[:1]], "up")
    line = said(browser)
    after = states(one) + states(two)
    browser.post(
        line["undo"], {"move": [value for name, value in line["fields"] if name == "move"]}
    )

    assert after.count("up") == 2
    assert states(one) + states(two) == ["fixed"] * 6


def test_a_held_board_is_not_fixed_without_a_reason(house, browser):
    floor = floor_of(house)
    factories.AccessNeedFactory(property=house, floor=floor, area=rectangle(0, 0, 1000, 450))
    board = floor.boards.first()
    move(browser, [board], "up")

    refused = move(browser, [board], "fixed", back="/floor/")
    before = states(floor)
    done = move(browser, [board], "fixed", force_reason="The plumber rang: not needed.")

    assert refused.status_code == 409
    assert f"{board.mark} is held for" in refused.text
    assert "Run the waste" in refused.text
    assert 'name="force_reason"' in refused.text
    assert before == ["up", "fixed", "fixed"]
    assert done.status_code == 302
    assert BoardMove.objects.first().forced_reason == "The plumber rang: not needed."


def test_undoing_asks_for_a_reason_where_somebody_holds_the_board_as_moving_it_does(house, browser):
    floor = floor_of(house)
    factories.AccessNeedFactory(property=house, floor=floor, area=rectangle(0, 0, 1000, 450))
    board = floor.boards.first()
    move(browser, [board], "up", back="/floor/?layers=chosen")

    line = said(browser)
    refused = browser.post(line["undo"], dict(line["fields"]))
    before = states(floor)
    undone = browser.post(line["undo"], {**dict(line["fields"]), "force_reason": "A slip."})

    assert refused.status_code == 409
    assert f"{board.mark} is held for" in refused.text
    assert f'action="{line["undo"]}"' in refused.text
    assert before == ["up", "fixed", "fixed"]
    assert undone["Location"] == "/floor/?layers=chosen"
    assert states(floor) == ["fixed"] * 3
    assert BoardMove.objects.first().forced_reason == "A slip."


def test_where_one_floor_refuses_the_other_is_not_moved_either(house, browser):
    one, two = floor_of(house), floor_of(house)
    move(browser, [*one.boards.all()[:1], *two.boards.all()[:1]], "up")
    line = said(browser)
    factories.AccessNeedFactory(property=house, floor=one, area=rectangle(0, 0, 1000, 450))

    refused = browser.post(
        line["undo"], {"move": [value for name, value in line["fields"] if name == "move"]}
    )

    assert refused.status_code == 409
    assert (states(one) + states(two)).count("up") == 2


def test_the_phones_queue_is_told_in_words_why_a_board_stays(house, browser):
    floor = floor_of(house)
    factories.AccessNeedFactory(property=house, floor=floor, area=rectangle(0, 0, 1000, 450))
    board = floor.boards.first()
    move(browser, [board], "up")

    answer = browser.post(
        "/floor/move/", {"board": board.pk, "to_state": "fixed"}, headers={"X-From-Queue": "1"}
    )

    assert answer.status_code == 409
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["type"].endswith("board-held")


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"to_state": "up"},
        {"board": "x", "to_state": "up"},
        {"board": 1, "to_state": "gone"},
    ],
)
def test_a_form_without_boards_or_without_a_state_is_refused_in_a_sentence(house, browser, sent):
    floor_of(house)

    answer = browser.post("/floor/move/", sent)

    assert answer.status_code == 400
    assert re.search(r"Say what to do|Pick the boards first|not in this house", answer.text)


def test_a_boards_card_tells_state_holder_reason_and_log(house, browser):
    floor = floor_of(house)
    need = factories.AccessNeedFactory(
        property=house, floor=floor, area=rectangle(0, 0, 1000, 450), purpose="Run <b>the waste</b>"
    )
    board = floor.boards.first()
    move(browser, [board], "up", note="Split at the end")

    card = browser.get(f"/floor/board/{board.pk}/").text

    assert f"{board.mark} is up" in card
    assert str(need.trade) in card
    assert "Run &lt;b&gt;the waste&lt;/b&gt;" in card
    assert "Split at the end" in card
    assert house.owner.username in card


def test_only_the_chosen_floor_and_layers_are_shown(house, browser):
    one, two = floor_of(house, name="Old end"), floor_of(house, name="New end")

    page = browser.get(f"/floor/?floor={one.pk}&layers=chosen&layer=joists").text
    nowhere = browser.get("/floor/?floor=999999")

    assert f'data-board="{one.boards.first().pk}"' in page
    assert f'data-board="{two.boards.first().pk}"' not in page
    assert re.search(r'class="floor-drawing far no-needs no-ways no-heights"', page)
    assert nowhere.status_code == 404


def test_a_boards_name_is_never_markup(house, browser):
    floor = floor_of(house, boards=0, name="<script>f()</script>")
    factories.BoardFactory(floor=floor, mark="<b onx=1>", course=1)

    page = browser.get("/floor/").text

    assert "<script>f()" not in page
    assert "<b onx" not in page


def test_many_boards_cost_no_more_queries_than_few(house, browser):
    floor = floor_of(house, boards=2)
    browser.get("/floor/")
    cache.clear()
    with CaptureQueriesContext(connection) as few:
        browser.get("/floor/")
    for n in range(2, 20):
        factories.BoardFactory(floor=floor, course=n + 1)
    cache.clear()
    with CaptureQueriesContext(connection) as many:
        browser.get("/floor/")

    assert len(many) == len(few)
    assert len(many) <= 50


def test_the_sheet_is_a4_and_true_to_the_scale_it_states(house, browser):
    floor = floor_of(house)
    move(browser, floor.boards.all()[:1], "up")

    answer = browser.get("/floor/sheet.pdf")

    assert answer["Content-Type"] == "application/pdf"
    pdf = PdfReader(io.BytesIO(answer.content))
    page = pdf.pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
        A4_POINTS, abs=0.1
    )
    scale = int(re.search(r"Scale 1:(\d+)", page.extract_text())[1])
    # The bar of 1 m is the only level line of exactly 1000 units of the drawing.
    assert metre_points(pdf) == pytest.approx(1000 / scale * POINTS_PER_MM, rel=1e-3)
    assert "up" in pdf.pages[1].extract_text()


def test_a_name_in_any_script_does_not_stop_the_sheet(house, browser):
    floor = floor_of(house, name="床板 \u202e<svg> #import")
    factories.RoomFactory(property=house, storey=floor.storey, name="浴室")

    answer = browser.get("/floor/sheet.pdf")

    words = PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert answer.status_code == 200
    assert "Scale 1:" in words


def metre_points(pdf):
    """Length on paper [pt] of the first line of the drawing that is 1000 of its units long."""

    def walk(form, matrix):
        stack, at = [], None
        for operands, operator in form.get_contents_stream():
            if operator == b"q":
                stack.append(matrix)
            elif operator == b"Q":
                matrix = stack.pop()
            elif operator == b"cm":
                matrix = times([float(value) for value in operands], matrix)
            elif operator == b"m":
                at = [float(value) for value in operands]
            elif operator == b"l" and at:
                to = [float(value) for value in operands]
                if abs(abs(to[0] - at[0]) - 1000) < 0.01 and abs(to[1] - at[1]) < 0.01:
                    return abs(to[0] - at[0]) * abs(matrix[0])
            elif operator == b"Do":
                inner = form.named(operands[0])
                found = inner and walk(inner, times(inner.matrix, matrix))
                if found:
                    return found
        return None

    return walk(Form(pdf.pages[0], pdf), [1, 0, 0, 1, 0, 0])


def times(a, b):
    return [
        a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5],
    ]  # fmt: skip


class Form:
    """A page, or a drawing placed on it, as the operations that draw it."""

    def __init__(self, holder, pdf):
        self.holder, self.pdf = holder, pdf
        self.matrix = [float(value) for value in holder.get("/Matrix", [1, 0, 0, 1, 0, 0])]

    def get_contents_stream(self):
        from pypdf.generic import ContentStream

        content = self.holder.get_contents() if "/Contents" in self.holder else self.holder
        return ContentStream(content, self.pdf).operations

    def named(self, name):
        found = self.holder["/Resources"]["/XObject"][name].get_object()
        return Form(found, self.pdf) if found["/Subtype"] == "/Form" else None
