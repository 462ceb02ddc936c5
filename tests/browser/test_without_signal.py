"""Without a signal: pages stay readable, what is done waits and is sent once, nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.axe import violations
from tests.browser.conftest import Visitor, sign_in
from tests.browser.test_tonight import card

DISCONNECTED = "ERR_INTERNET_DISCONNECTED"
COUNTS = """
from datetime import timedelta
from django.utils import timezone
from apps.floors.models import BoardMove
from apps.trades.models import TemporaryMeasure
from apps.work.models import Finding, Task, TimeEntry
lately = timezone.now() - timedelta(hours=1)
answer = {
    "on_the_clock": Task.objects.filter(clock_from__isnull=False).count(),
    "findings": Finding.objects.count(),
    "moves": BoardMove.objects.count(),
    "entries": TimeEntry.objects.count(),
    "looked_at": TemporaryMeasure.objects.filter(last_checked_at__gt=lately).count(),
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


def test_five_things_done_without_a_signal_are_each_written_once_when_it_is_back(demo, pocket):
    visitor = pocket()
    page = visitor.page
    before = demo.installation.run(COUNTS)
    task = card(page)

    page.context.set_offline(True)
    task.get_by_role("button", name="Carry on").click()
    task.get_by_text("not sent yet").wait_for()
    page.locator("#way-1").get_by_role("button").click()
    page.get_by_role("button", name="I looked at it").first.click()
    note(page, "Nails left in the joist")
    page.get_by_text("4 things wait for signal.").wait_for()
    page.reload()
    task.get_by_role("button", name="Stop").wait_for()
    note(page, "Gas pipe in the way")
    page.get_by_text("5 things wait for signal.").wait_for()
    signal_back(page)

    after = demo.installation.run(COUNTS)
    assert {name: after[name] - before[name] for name in after} == {
        "on_the_clock": 1, "findings": 2, "moves": 1, "entries": 0, "looked_at": 1,
    }  # fmt: skip
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
