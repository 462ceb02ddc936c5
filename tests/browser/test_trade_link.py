"""A visit's link on a phone: made by the owner, answered by the trade, decided by the owner."""

from __future__ import annotations

import pytest

from tests import rfc5545
from tests.browser.axe import violations
from tests.browser.conftest import SIZES, Visitor

PREPARE = """
from datetime import timedelta
from django.utils import timezone
from apps.property.models import Property
from apps.trades.models import Visit
house = Property.objects.get()
starts = timezone.now().replace(microsecond=0) + timedelta(days=200)
visit = Visit.objects.create(
    property=house, trade=house.trades.first(), title="Snagging", state="asked",
    starts=starts, ends=starts + timedelta(hours=2),
)
answer = visit.pk
"""


@pytest.fixture
def snagging(demo):
    """A visit far from the demo's own, gone again afterwards."""
    pk = demo.installation.run(PREPARE)
    yield pk
    demo.installation.run(
        "from apps.trades.models import Visit\n"
        f"Visit.objects.filter(pk={pk}).delete()\nanswer = None"
    )


def test_a_trade_says_it_can_come_and_nothing_changes_until_the_owner_accepts(
    demo, visit, snagging, new_context
):
    owner = visit("/replies/")
    page = owner.page
    page.get_by_role("button", name="Make a link for Snagging").click()
    page.get_by_role("button", name="Copy the link").click()
    page.locator(".copied").get_by_text("opied").or_(page.get_by_text("It is marked")).wait_for()
    assert violations(page) == []
    address = page.locator("#address").input_value()

    phone = Visitor(new_context(viewport=SIZES["phone"]).new_page()).watch()
    phone.page.goto(address)
    assert phone.page.get_by_role("heading", level=1).inner_text() == "Snagging"
    phone.page.get_by_text("Say something with it").click()
    phone.page.locator("#can_note").fill("Ring at the gate")
    phone.page.get_by_role("button", name="I can come").click()
    phone.page.get_by_text("has not decided yet").wait_for()

    state = f"from apps.trades.models import Visit; answer = Visit.objects.get(pk={snagging}).state"
    assert demo.installation.run(state) == "asked"
    page.goto(f"{demo.address}/replies/")
    reply = page.locator(".card").filter(has_text="Ring at the gate")
    reply.get_by_role("button", name="Accept").click()
    page.locator("#said").get_by_text("Accepted: Snagging is agreed").wait_for()
    assert demo.installation.run(state) == "agreed"
    phone.page.reload()
    phone.page.get_by_text("accepted.").wait_for()
    assert violations(phone.page) == []
    page.locator("#said").get_by_role("button", name="Undo").click()
    page.locator("#said").get_by_text("Undone").wait_for()

    assert demo.installation.run(state) == "asked"
    assert (owner.console, phone.console) == ([], [])
    assert phone.hosts == {address.split("/")[2]}


def test_a_calendar_address_is_made_copied_and_stopped(visit):
    visitor = visit("/calendar/")
    page = visitor.page

    page.get_by_role("button", name="Make an address for Mar Penhale").click()
    page.get_by_role("heading", name="The address for Mar Penhale").wait_for()
    address = page.locator("#address").input_value()
    webcal = page.get_by_role("link", name="Add to the calendar").get_attribute("href")
    assert webcal == address.replace("http://", "webcal://")
    assert len(rfc5545.read(page.request.get(address).body()).events) > 10
    page.get_by_text("Another address, or none").click()
    assert violations(page) == []
    page.get_by_role("button", name="Stop the address of Mar Penhale").click()
    page.locator("#said").get_by_text("can be read by nobody now").wait_for()

    assert page.request.get(address).status == 404
    assert visitor.console == []
