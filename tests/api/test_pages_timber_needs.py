"""What is wanted of timber, put right on its page: changed, refused, taken back."""

from __future__ import annotations

from datetime import date

import pytest

from apps.timber.models import Need
from tests import factories
from tests.api.test_pages_house_edits import signed_in, text, undo


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


@pytest.fixture
def need(house):
    return factories.NeedFactory(
        property=house, title="New end of J4", role="joist", quantity=2, length_mm=1800,
        breadth_mm=50, depth_mm=150, strength_class="C16", needed_by=date(2026, 12, 20),
    )  # fmt: skip


def told(need, **other):
    fields = {
        "title": need.title, "role": need.role, "quantity": need.quantity,
        "length_mm": need.length_mm, "breadth_mm": need.breadth_mm, "depth_mm": need.depth_mm,
        "strength_class": need.strength_class, "moisture_limit_pct": need.moisture_limit_pct,
        "needed_by": need.needed_by, "version": need.version,
    }  # fmt: skip
    sent = {**fields, **other}
    return {name: value for name, value in sent.items() if value is not None}


def change(browser, need, **other):
    return browser.post(f"/timber/need/{need.pk}/changed/", told(need, **other), follow=True)


def test_a_need_stands_in_its_form_and_is_put_right_and_back(browser, need):
    form = text(browser.get(f"/timber/need/{need.pk}/change/"))

    answer = change(
        browser, need, title="New end of J5", length_mm="2.1m", depth_mm="6\"", treated="on",
        needed_by="", moisture_limit_pct="", strength_class="C24", quantity=3,
    )  # fmt: skip
    need.refresh_from_db()
    changed = (need.title, need.length_mm, need.treated, need.needed_by, need.quantity)
    wet, grade = need.moisture_limit_pct, need.strength_class
    undo(browser, answer)

    need.refresh_from_db()
    assert 'value="New end of J4"' in form
    assert 'value="1800"' in form
    assert 'value="2026-12-20"' in form
    assert changed == ("New end of J5", 2100, True, None, 3)
    assert (wet, grade) == (None, "C24")
    assert (need.title, need.length_mm, need.treated, need.quantity) == (
        "New end of J4", 1800, False, 2,
    )  # fmt: skip
    assert (need.needed_by, need.moisture_limit_pct) == (date(2026, 12, 20), 20)


def test_what_nobody_changed_is_not_written(browser, need):
    answer = change(browser, need)

    need.refresh_from_db()
    assert "is as it was" in text(answer)
    assert need.version == 1


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"length_mm": "long"}, "long"),
        ({"title": ""}, "This field is required."),
        ({"quantity": "0"}, "greater than or equal to 1"),
        ({"needed_by": "soon"}, "Enter a valid date."),
    ],
)
def test_what_no_need_can_be_is_said_at_its_field(browser, need, wrong, said):
    answer = change(browser, need, **wrong)

    assert answer.status_code == 400
    assert "field-error" in text(answer)
    assert said in text(answer)
    assert Need.objects.get().version == 1


def test_a_need_changed_meanwhile_is_shown_with_both_values(browser, need):
    opened = told(need, length_mm="2000")
    need.change(length_mm=1900)

    answer = browser.post(f"/timber/need/{need.pk}/changed/", opened)

    assert answer.status_code == 412
    assert "The book has by now: 1900" in text(answer)
    assert 'value="2000"' in text(answer)
    assert Need.objects.get().length_mm == 1900


def test_an_undo_never_goes_over_a_later_change(browser, need):
    answer = change(browser, need, length_mm="2000")
    need.refresh_from_db()
    need.change(length_mm=2200)

    undo(browser, answer)

    assert Need.objects.get().length_mm == 2200


@pytest.mark.parametrize("state", ["planned", "met"])
def test_of_what_is_cut_only_the_words_and_the_day_change(browser, need, state):
    need.change(state=state)
    page = text(browser.get(f"/timber/need/{need.pk}/change/"))

    size = change(browser, need, length_mm="2000")
    words = change(browser, need, title="End of J4, left")

    need.refresh_from_db()
    assert "Only what it is for and by when can change" in page
    assert size.status_code == 409
    assert "what is wanted stays as it is" in text(size)
    assert "Put right" in text(words)
    assert (need.title, need.length_mm) == ("End of J4, left", 1800)


def test_a_viewer_has_no_form_and_is_refused(house, need):
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)

    answer = viewer.post(f"/timber/need/{need.pk}/changed/", told(need, title="Mine"))

    assert "Put it right" not in text(viewer.get(f"/timber/need/{need.pk}/"))
    assert "You may look at this house" in text(viewer.get(f"/timber/need/{need.pk}/change/"))
    assert answer.status_code == 403
    assert Need.objects.get().title == "New end of J4"


def test_a_need_of_another_house_is_not_there(browser, need):
    theirs = factories.NeedFactory()

    assert browser.get(f"/timber/need/{theirs.pk}/change/").status_code == 404
    assert change(browser, theirs, title="Mine").status_code == 404
