"""Feet and inches on the pages of whoever chose them, and of nobody else."""

from __future__ import annotations

import io
import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from apps.pages.feet import NO_BREAK
from apps.pages.templatetags.lengths import AS_WRITTEN
from apps.property.models import Member
from tests import factories
from tests.api.asking import is_problem
from tests.api.test_pages_checks import joist_with_heights
from tests.api.test_pages_csv import form_of, text_of
from tests.api.test_pages_timber import cut_of

FEET = "/house/feet/"


@pytest.fixture
def phone(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def choose(phone, feet="yes"):
    return phone.post(FEET, {"feet": feet}, follow=True)


def words(phone, path):
    return text_of(phone.get(path))


def test_whoever_chose_feet_sees_them_beside_metric_and_can_undo_it(phone, house):
    factories.PieceFactory(property=house, breadth_mm=50, depth_mm=150, length_mm=3000)
    before = words(phone, "/timber/")

    answer = choose(phone)

    assert "3000 mm" in before
    assert "9' 10⅛\"" not in before
    assert "Lengths are shown in feet and inches too." in text_of(answer)
    assert '(1 15/16" × 5⅞" × 9\' 10⅛")' in words(phone, "/timber/")
    back = phone.post(FEET, form_of(answer, FEET), follow=True)
    assert "Lengths are metric only." in text_of(back)
    assert "9' 10⅛\"" not in words(phone, "/timber/")


def test_it_is_one_persons_own_choice_and_one_houses(phone, house):
    factories.PieceFactory(property=house, length_mm=3000)
    helper = factories.MemberFactory(property=house).user
    other = factories.MemberFactory(user=house.owner, role="owner").property
    factories.PieceFactory(property=other, length_mm=3000)
    choose(phone)

    assert "9' 10⅛\"" not in words(signed_in(helper), "/timber/")
    assert "9' 10⅛\"" not in words(phone, f"/timber/?property={other.pk}")
    assert "9' 10⅛\"" in words(phone, f"/timber/?property={house.pk}")


def test_whoever_may_only_look_may_choose_too(house):
    viewer = factories.MemberFactory(property=house, role="viewer")

    choose(signed_in(viewer.user))

    viewer.refresh_from_db()
    assert (viewer.shows_feet, viewer.version) == (True, 2)
    assert not Member.objects.get(user=house.owner).shows_feet


def test_a_stranger_chooses_nothing(phone, house):
    other = factories.MemberFactory(role="owner").property

    assert phone.post(FEET, {"feet": "yes", "property": other.pk}).status_code == 404
    assert Client().post(FEET, {"feet": "yes"}).status_code == 302
    assert not Member.objects.filter(shows_feet=True).exists()


def test_rooms_are_told_to_the_half_inch(phone, house):
    factories.RoomFactory(property=house, outline=[[0, 0], [3620, 0], [3620, 4100], [0, 4100]])
    choose(phone)

    assert "(11' 10½\" × 13' 5½\")" in words(phone, "/house/rooms/")


def test_what_is_typed_stays_metric_and_the_record_word_for_word(phone, house):
    factories.InspectionFactory(property=house, title="Notch at 300 mm")
    piece = factories.PieceFactory(property=house, length_mm=3000)
    factories.DefectFactory(piece=piece, kind="nails", from_mm=900, to_mm=2100)
    choose(phone)

    shown = unescape(phone.get(reverse("timber-piece", args=[piece.pk])).content.decode())
    shown = shown.replace(NO_BREAK, " ")

    assert "900–2100 mm (2' 11 7/16\"–6' 10 11/16\")" in shown
    assert "<svg" in shown
    assert all("' " not in part.partition("</svg>")[0] for part in shown.split("<svg")[1:])
    assert "looks" in AS_WRITTEN
    assert "11 13/16" not in words(phone, "/looks/")


def test_a_check_and_the_floor_levels_are_told_in_inches(phone, house):
    joist = factories.JoistFactory(floor__property=house)
    factories.SpotHeightFactory(joist=joist, height_mm=-12.7)
    choose(phone)

    levels = words(phone, f"/checks/levels/{joist.floor_id}/")

    assert '-12.7 mm (−½")' in levels


def test_ones_own_choice_needs_no_owner_over_the_api(house, client):
    member = factories.MemberFactory(property=house, role="helper")
    helper = signed_in(member.user)
    mine = f"/api/v1/members/{member.pk}/"
    owners = f"/api/v1/members/{Member.objects.get(user=house.owner).pk}/"

    def patch(path, **body):
        return helper.patch(path, body, content_type="application/json")

    assert patch(mine, shows_feet=True).json()["shows_feet"] is True
    assert is_problem(patch(mine, shows_feet=True, role="owner"), 403, "owners-only")
    assert is_problem(patch(owners, shows_feet=True), 403, "owners-only")
    assert client.get(mine).json()["shows_feet"] is True


def printed(phone, path):
    pages = PdfReader(io.BytesIO(phone.get(path).content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_levels_sheet_is_printed_in_inches_too(phone, house):
    joist = joist_with_heights(house)
    path = f"/checks/levels/{joist.floor_id}/sheet.pdf?packers=1,2,3,5&height=-6"
    metric = printed(phone, path)
    choose(phone)

    both = printed(phone, path)

    # 1 mm is 0.63 sixteenths of an inch, 5 mm 3.15 of them.
    assert '5 mm (3/16")' in both
    assert '(3/16")' not in metric
    assert "mm mm" not in both


def test_the_cut_list_is_told_in_inches_on_the_page_and_on_paper(phone, house):
    cut = cut_of(house)
    path = f"/timber/plan/{cut.bar.plan_id}/"
    metric = printed(phone, f"{path}sheet.pdf")
    choose(phone)

    page, paper = words(phone, path), printed(phone, f"{path}sheet.pdf")

    # 349 mm is 13.74 inches: 1 foot 1¾.
    assert "349 mm (1' 1¾\")" in page
    assert "349 mm (1' 1¾\")" in paper
    assert "1¾" not in metric
