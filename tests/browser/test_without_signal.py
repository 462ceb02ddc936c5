"""Without a signal: pages stay readable, what is done waits and is sent once, nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.browser.axe import violations
from tests.browser.conftest import Visitor, now, sign_in
from tests.browser.test_tonight import RAKE, card

DISCONNECTED = "ERR_INTERNET_DISCONNECTED"
COUNTS = """
from django.db.models import Sum
from apps.floors.models import BoardMove
from apps.timber.models import MoistureReading
from apps.work.models import Finding, Task, TimeEntry
answer = {
    "done": Task.objects.filter(status="done").count(),
    "entries": TimeEntry.objects.count(),
    "minutes": TimeEntry.objects.aggregate(sum=Sum("minutes"))["sum"],
    "findings": Finding.objects.count(),
    "moves": BoardMove.objects.count(),
    "readings": MoistureReading.objects.count(),
}
"""
THINGS = """
from django.urls import reverse
from apps.floors.models import Board
from apps.timber.models import Piece
board = Board.objects.filter(floor__pk=2, mark="B11.2").get()
answer = {
    "board": reverse("floor-board", args=[board.pk]),
    "piece": reverse("timber-piece", args=[Piece.objects.get(mark="T11").pk]),
}
"""


@pytest.fixture
def pocket(visit) -> Callable[..., Visitor]:
    """A phone that has seen Tonight and keeps its pages from then on."""

    def opened(path: str = "/tonight/") -> Visitor:
        visitor = visit(path)
        page = visitor.page
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.reload()
        assert page.evaluate("navigator.serviceWorker.controller !== null")
        return visitor

    return opened


def waiting(page: Any) -> str:
    return page.locator(".waiting-count").inner_text()


def note(page: Any, title: str) -> None:
    if not page.get_by_label("What is it?").is_visible():
        page.locator("#found summary").click()
    page.get_by_label("What is it?").fill(title)
    page.get_by_role("button", name="Note it").click()


def signal_back(page: Any) -> None:
    page.context.set_offline(False)
    page.locator("#waiting").wait_for(state="hidden")


@pytest.fixture
def raked(demo):
    """The task that the story finishes, as it was afterwards."""
    yield
    demo.installation.run(
        "from apps.work.models import Task; from apps.work.services import reopen_task\n"
        f"reopen_task(task=Task.objects.get(title={RAKE!r}))\nanswer = None"
    )


def test_five_things_done_without_a_signal_are_each_written_once_when_it_is_back(
    demo, pocket, raked
):
    visitor, there = pocket(), demo.installation.run(THINGS)
    page, began = visitor.page, now() - timedelta(minutes=40)
    for path in there.values():
        page.goto(f"{demo.address}{path}")
    page.goto(f"{demo.address}/tonight/")
    before, task = demo.installation.run(COUNTS), card(page)

    page.context.set_offline(True)
    page.clock.set_fixed_time(began)
    task.get_by_role("button", name="Carry on").click()
    task.get_by_text("not sent yet").wait_for()
    page.reload()
    page.clock.set_fixed_time(began + timedelta(minutes=40))
    task.get_by_role("button", name="Done").click()
    page.get_by_text("2 things wait for signal.").wait_for()
    note(page, "Gas pipe in the way")
    page.get_by_text("3 things wait for signal.").wait_for()
    page.goto(f"{demo.address}{there['board']}")
    page.get_by_role("button", name="Lift", exact=True).click()
    page.get_by_text("4 things wait for signal.").wait_for()
    page.goto(f"{demo.address}{there['piece']}")
    page.get_by_label("Meter, %").fill("22,7")
    page.get_by_role("button", name="Note the reading").click()
    page.get_by_text("5 things wait for signal.").wait_for()
    signal_back(page)
    page.reload()

    after = demo.installation.run(COUNTS)
    assert {name: after[name] - before[name] for name in after} == {
        "done": 1, "minutes": 40, "entries": 1, "findings": 1, "moves": 1, "readings": 1,
    }  # fmt: skip
    assert page.get_by_text("22.7 %").count() >= 1
    assert [said for said in visitor.console if DISCONNECTED not in said] == []
    assert visitor.hosts == {f"127.0.0.1:{demo.port}"}


def test_an_answer_that_was_lost_on_the_way_does_not_do_it_twice(demo, pocket):
    page = pocket().page
    before = demo.installation.run(COUNTS)["findings"]

    lost = []

    def lose(route: Any) -> None:
        """Let the server do it, and the answer never arrive."""
        if lost:
            route.continue_()
            return
        lost.append(route.fetch())
        route.abort()

    page.context.route("**/tonight/found/", lose)
    note(page, "Loose brick under J3")
    page.get_by_text("1 thing waits for signal.").wait_for()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.locator("#waiting").wait_for(state="hidden")

    assert lost[0].status == 200
    assert demo.installation.run(COUNTS)["findings"] == before + 1


def test_a_step_someone_else_took_meanwhile_is_shown_with_both_values_and_kept(demo, pocket):
    page = pocket().page
    task = page.locator("article.task").first
    title = task.get_by_role("heading").inner_text()
    number = task.get_attribute("id").removeprefix("task-")
    finish = (
        "from django.utils import timezone; from apps.work.models import Task\n"
        "from apps.trades.services import finish_task\n"
        f"finish_task(task=Task.objects.get(pk={number}), at=timezone.now())"
    )

    page.context.set_offline(True)
    task.get_by_role("button", name="Done").click()
    page.get_by_text("1 thing waits for signal.").wait_for()
    demo.installation.run(finish)
    page.context.set_offline(False)
    page.get_by_text("1 was not written").wait_for()

    both = page.locator(".waiting .both").inner_text()
    assert title in both
    assert "status: done" in both
    assert violations(page) == []
    page.reload()
    assert "1 was not written" in waiting(page)
    page.get_by_role("button", name="Drop mine").click()
    page.locator("#waiting").wait_for(state="hidden")


def test_what_waits_can_be_taken_back_before_it_is_sent(demo, pocket):
    page = pocket().page
    before = demo.installation.run(COUNTS)

    page.context.set_offline(True)
    note(page, "Nothing after all")
    page.get_by_role("button", name="Take back").click()
    signal_back(page)

    assert demo.installation.run(COUNTS) == before


def test_pages_seen_last_can_be_read_and_others_say_there_is_no_signal(demo, pocket):
    page = pocket("/week/?property=1").page
    monday = page.get_by_role("heading", level=1).inner_text()

    page.context.set_offline(True)
    page.goto(f"{demo.address}/week/?property=1")
    assert page.get_by_role("heading", level=1).inner_text() == monday
    page.goto(f"{demo.address}/week/?property=1&on=2031-01-06")

    assert page.get_by_role("heading", level=1).inner_text() == "No signal here"


def test_signing_out_leaves_no_page_on_the_phone(demo, new_context):
    page = new_context().new_page()
    sign_in(page, demo)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    kept = "caches.open('seen').then(store => store.keys()).then(keys => keys.length)"
    assert page.evaluate(kept) >= 1

    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")

    assert page.evaluate(kept) == 0


def test_what_is_wrong_is_said_beside_its_field_be_it_a_photo_or_a_group_of_ticks(demo, visit):
    page = visit("/tonight/").page
    page.locator("#found summary").click()
    page.get_by_label("What is it?").fill("A photo that is none")
    page.get_by_label("Photo").set_input_files(
        {"name": "IMG_8.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"}
    )
    page.get_by_role("button", name="Note it").click()
    by_photo = page.locator("#found-photo + .field-error")
    by_photo.wait_for()
    said, photo_waits = by_photo.inner_text(), page.locator("#waiting").is_visible()

    look = "from apps.inspections.models import Inspection as rows; answer = rows.objects.get"
    look = demo.installation.run(f"{look}(title='Joist ends before boards').pk")
    page.goto(f"{demo.address}/looks/{look}/")
    form = page.locator("form.sign").first
    form.evaluate("form => { form.noValidate = true; }")
    form.get_by_role("button", name="Write it into the record").click()
    by_group = form.locator("fieldset .field-error")
    by_group.first.wait_for()

    assert "JPEG" in said
    assert not photo_waits
    assert by_group.count() == 1
    assert violations(page) == []
