"""The checks as pages: every one opens and answers, odd figures get a sentence at their field."""

from __future__ import annotations

import io
import re

import pytest
from django.test import Client
from pypdf import PdfReader

from apps.checks.api.calculators import CALCULATORS
from apps.pages.screens.checks.shapes import leaves_of
from tests import factories

NAMES = [one.name for one in CALCULATORS]


@pytest.fixture
def browser(house):
    made = Client()
    made.force_login(house.owner)
    return made


def joist_with_heights(house, heights=(-12.5, -11.0), **fields):
    """A joist of 4 m with a bearing and a height at each end."""
    floor = factories.FloorFactory(property=house, storey__property=house)
    ends = [{"at_mm": 0, "length_mm": 100, "kind": "wall_plate"},
            {"at_mm": 3900, "length_mm": 100, "kind": "wall_plate"}]  # fmt: skip
    joist = factories.JoistFactory(
        floor=floor, mark="J1", line=[[0, 0], [0, 4000]], bearings=ends, **fields
    )
    for at, plate, height in zip((50, 3950), ("north plate", "south plate"), heights, strict=True):
        factories.SpotHeightFactory(joist=joist, at_mm=at, bearing=plate, height_mm=height)
    return joist


def text_of(answer):
    bare = re.sub(r"<(style|script).*?</\1>|<[^>]+>", " ", answer.content.decode(), flags=re.DOTALL)
    return re.sub(r"\s+", " ", bare)


def at_field(answer, path):
    """The sentences that stand at a field."""
    key = "f-" + path.replace(".", "-")
    return re.findall(
        rf'<p class="field-error" id="{key}-error">(.*?)</p>', answer.content.decode()
    )


def test_the_list_asks_every_question_in_plain_words(browser):
    answer = browser.get("/checks/")

    assert [one.summary for one in CALCULATORS if one.summary not in text_of(answer)] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_check_opens_filled_in_and_says_how_it_stands(browser, name):
    answer = browser.get(f"/checks/ask/{name}/")

    page = answer.content.decode()
    assert answer.status_code == 200
    assert re.search(r'class="check-verdict \w+">\w', page)
    assert "check-cautions" in page
    assert "check-figure" in page
    fields = {leaf.name for one in CALCULATORS if one.name == name for leaf in leaves_of(one.asked)}
    named = {found.rpartition(".")[2] for found in re.findall(r'name="([\w.]+)"', page)}
    assert fields - named <= {"id"}


def test_a_result_can_be_kept_as_an_address(browser):
    short = browser.get("/checks/ask/joist/?span_mm=2000")
    long = browser.get("/checks/ask/joist/?span_mm=6.0m")

    assert 'class="check-verdict good">Passes' in short.content.decode()
    assert 'class="check-verdict stop">Does not pass' in long.content.decode()
    assert "EN 1995-1-1" in text_of(long)


def test_where_nobody_has_inspected_it_cannot_be_said(browser):
    answer = browser.get("/checks/ask/joist/?void_moisture_pct=24")

    assert "Cannot be said: have it inspected, ask an engineer" in text_of(answer)


def test_a_notch_added_in_the_empty_row_is_drawn_and_counted(browser):
    row = "cuts.0.kind=notch&cuts.0.at_mm=1500&cuts.0.size_mm=60&cuts.0.depth_mm=90"

    answer = browser.get(f"/checks/ask/joist/?{row}&cuts.0.edge=bottom&cuts.1.kind=")

    assert answer.content.decode().count('class="notch"') == 1
    assert "notch at 1500" in text_of(answer)
    assert "Does not pass" in text_of(answer)


@pytest.mark.parametrize(
    ("name", "path", "typed"),
    [
        ("joist", "span_mm", "about three"),
        ("joist", "span_mm", "2.4"),
        ("joist", "span_mm", ""),
        ("joist", "span_mm", "99999"),
        ("joist", "depth_mm", "nan"),
        ("joist", "depth_mm", "1e400"),
        ("joist", "strength_class", "C99"),
        ("joist", "service_class", "7"),
        ("joist", "settings.k_cr", "-4"),
        ("cuts", "joist.cuts.0.at_mm", "-4000"),
        ("lap", "cut_mm", "-1"),
        ("lap", "fastener", "string"),
        ("subfloor-ventilation", "outline", "0 0, 4000"),
        ("subfloor-ventilation", "outline", "' onload=x"),
        ("subfloor-ventilation", "beyond", "moon"),
        ("deck", "spans", "9" * 5000),
        ("decay", "probes.0.at_mm", "9000"),
        ("membrane", "roll.width_mm", "0"),
    ],
)
def test_an_odd_figure_gets_a_sentence_at_its_field(browser, name, path, typed):
    answer = browser.get(f"/checks/ask/{name}/", {path: typed})

    assert answer.status_code == 400
    assert at_field(answer, path), text_of(answer)[:1500]


@pytest.mark.parametrize("name", [name for name in NAMES if name != "sister"])
def test_no_field_can_be_typed_so_that_the_page_breaks(browser, name):
    page = browser.get(f"/checks/ask/{name}/").content.decode()

    for path in [one for one in re.findall(r'name="([\w.]+)"', page) if one != "property"][:3]:
        answer = browser.get(f"/checks/ask/{name}/", {path: "<b>-1"})
        assert answer.status_code in {200, 400}
        assert "<b>-1" not in answer.content.decode()


def test_one_tap_fills_in_a_joist_of_the_house(browser, house):
    joist = joist_with_heights(house, breadth_mm=63, depth_mm=170)

    answer = browser.get(f"/checks/ask/joist/?joist={joist.pk}")

    assert 'name="span_mm" value="3800"' in answer.content.decode()
    assert 'name="breadth_mm" value="63"' in answer.content.decode()
    for name in ("cuts", "lap", "sister", "bearing", "decay"):
        assert browser.get(f"/checks/ask/{name}/?joist={joist.pk}").status_code in {200, 400}


def test_the_joists_of_a_floor_come_worst_first(browser, house):
    joist = joist_with_heights(house, depth_mm=200)
    weak = factories.JoistFactory(
        floor=joist.floor, mark="J2", line=[[400, 0], [400, 4000]], depth_mm=75
    )

    answer = browser.get(f"/checks/floor/{joist.floor_id}/")

    marks = re.findall(r"<h3>(\w+):", answer.content.decode())
    assert marks == [weak.mark, joist.mark]


def test_the_levels_picture_has_its_packers_in_a_table_and_on_paper(browser, house):
    joist = joist_with_heights(house)
    address = f"/checks/levels/{joist.floor_id}/"

    page = browser.get(f"{address}?packers=1,2,3,5&height=-6")
    sheet = browser.get(f"{address}sheet.pdf?packers=1,2,3,5&height=-6")

    assert page.content.decode().count('class="packer"') == 2
    assert "north plate" in text_of(page)
    paper = PdfReader(io.BytesIO(sheet.content))
    words = " ".join(one.extract_text() for one in paper.pages)
    assert "Packers at each bearing" in words
    assert [
        word for word in ("J1", "north plate", "south plate", "5", "Done") if word not in words
    ] == []
    assert "A competent person decides" in words


def test_odd_packers_get_a_sentence(browser, house):
    joist = joist_with_heights(house)

    answer = browser.get(f"/checks/levels/{joist.floor_id}/?packers=slate&height=high")

    assert answer.status_code == 400
    assert "slate is no packer" in text_of(answer)
    assert "A height in mm" in text_of(answer)


@pytest.mark.parametrize("path", ["floor/{}/", "levels/{}/", "levels/{}/sheet.pdf"])
def test_a_stranger_finds_no_floor_of_this_house(house, path):
    joist = joist_with_heights(house)
    stranger = Client()
    stranger.force_login(factories.MemberFactory().user)

    answer = stranger.get(f"/checks/{path.format(joist.floor_id)}")

    assert answer.status_code == 404


def test_a_stranger_cannot_fill_in_a_joist_of_this_house(house):
    joist = joist_with_heights(house)
    stranger = Client()
    stranger.force_login(factories.MemberFactory().user)

    assert stranger.get(f"/checks/ask/joist/?joist={joist.pk}").status_code == 404
