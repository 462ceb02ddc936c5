"""Who gets in, what happens by itself, and boards kept open for a visit, on a phone."""

from __future__ import annotations

import pytest

from tests.browser.axe import violations


@pytest.fixture
def kit(demo):
    """Somebody with an account, who is in no house before and after."""
    demo.installation.run(
        "from django.contrib.auth.models import User\n"
        "answer = User.objects.get_or_create(username='kit')[0].pk"
    )
    yield "kit"
    demo.installation.run(
        "from django.contrib.auth.models import User\n"
        "User.objects.filter(username='kit').delete()\nanswer = 0"
    )


def test_somebody_is_let_in_given_another_role_and_taken_off_with_undo(visit, kit):
    page = visit("/house/").page
    page.get_by_role("link", name="People of this house").click()
    page.get_by_label("Account name").fill("kitt")
    page.get_by_role("button", name="Let them in").click()
    page.get_by_text("There is no account kitt here yet.").wait_for()
    page.get_by_text("manage.py account NAME").wait_for()
    assert violations(page) == []

    page.get_by_label("Account name").fill(kit)
    page.get_by_label("They are").select_option("viewer")
    page.get_by_role("button", name="Let them in").click()
    page.get_by_text("Let in: kit may look only.").wait_for()
    page.locator("summary", has_text="Change or take off: kit").click()
    assert violations(page) == []

    page.get_by_label("kit is").select_option("helper")
    page.get_by_role("button", name="Save what kit may do").click()
    page.get_by_text("kit is a helper now.").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("kit may look only now.").wait_for()

    page.locator("summary", has_text="Change or take off: kit").click()
    page.get_by_role("button", name="Take kit off").click()
    page.get_by_text("kit does not get in any more.").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Undone: kit may look only again.").wait_for()


def test_what_happens_by_itself_is_set_and_set_back_without_script(demo, session, new_context):
    page = new_context(storage_state=session, java_script_enabled=False).new_page()
    page.goto(f"{demo.address}/house/by-itself/")
    page.get_by_text("no way to send mail").wait_for()

    page.get_by_label("A new plan after something was changed").check()
    page.get_by_label("Minutes it waits").fill("20")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Set: a plan each night and 20 min after changes; no mail.").wait_for()
    page.get_by_role("button", name="Undo").click()

    page.get_by_text("Set: a plan each night; no mail.").wait_for()
    assert not page.get_by_label("A new plan after something was changed").is_checked()


def test_boards_are_kept_open_for_a_visit_ended_and_taken_off(visit):
    page = visit("/house/visits/").page
    page.get_by_role("link", name="Electrician, first fix").first.click()
    page.get_by_role("link", name="Keep boards open for it").click()
    page.get_by_label("On which floor").select_option(label="Back parlour floor")
    page.get_by_label("Which boards").fill("B1.1, B77.7")
    page.get_by_label("What for").fill("Cable to the dresser")
    page.get_by_role("button", name="Keep them open").click()
    page.get_by_text("There is no B77.7 on Back parlour floor.").wait_for()
    assert violations(page) == []

    page.get_by_label("Which boards").fill("B1.1")
    page.get_by_role("button", name="Keep them open").click()
    page.get_by_text("Open for Electrician, first fix: Cable to the dresser").wait_for()
    page.locator("summary", has_text="End it, or take it off: Cable to the dresser").click()
    assert violations(page) == []

    page.get_by_label("Why they need not stay open: Cable to the dresser").fill("Another way")
    page.get_by_role("button", name="They need not stay open: Cable to the dresser").click()
    page.get_by_text("not held any more: Another way").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Held open again: Cable to the dresser").wait_for()

    page.locator("summary", has_text="End it, or take it off: Cable to the dresser").click()
    page.get_by_role("button", name="Take off the record: Cable to the dresser").click()
    page.get_by_text("Taken off the record: Cable to the dresser.").wait_for()
