"""What every page owes its reader: legible, reachable, quiet.

Success criteria by number are those of the Web Content Accessibility Guidelines 2.2, W3C
Recommendation, 5 October 2023 (from memory). Targets are 44 px, the size its AAA criterion
2.5.5 asks for, since gloved thumbs are what they are.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from tests.browser.axe import violations
from tests.browser.conftest import SIZES, Visitor
from tests.browser.every_page import (
    ABOUT_ONE_THING,
    ITS_OWN,
    NOT_HERE,
    addresses,
    names,
    pages,
)

NARROWEST = {"width": 320, "height": 844}

# A box in a label is tapped by its label. A link in a line of text is as high as the line:
# 2.5.8 Target Size (Minimum) exempts it.
SMALL_TARGETS = """() => {
  const inText = el => getComputedStyle(el).display === 'inline'
    && el.parentElement.textContent.trim() !== el.textContent.trim();
  const target = el => (['checkbox', 'radio'].includes(el.type) && el.labels[0]) || el;
  const all = 'a, button, summary, input:not([type=hidden]), select, textarea';
  return [...document.querySelectorAll(all)]
    .filter(el => el.checkVisibility() && !el.classList.contains('skip') && !inText(el))
    .map(el => ({say: el.innerText || el.name, box: target(el).getBoundingClientRect()}))
    .filter(({box}) => box.width < 44 || box.height < 44)
    .map(({say, box}) => `small: ${say}: ${box.width} × ${box.height}`);
}"""
LEVELS = "[...document.querySelectorAll('h1, h2, h3, h4')].map(el => Number(el.tagName[1]))"
WIDTH = "document.documentElement.scrollWidth"


def faults(visitor: Visitor, path: str) -> list[str]:
    """Everything that is wrong with an open page at any size, in either scheme."""
    page = visitor.page
    found: list[str] = []
    for size, box in SIZES.items():
        page.set_viewport_size(box)
        wrong = [*violations(page), *page.evaluate(SMALL_TARGETS)]
        found += [f"{size}: {line}" for line in wrong]
    page.set_viewport_size(NARROWEST)
    # 1.4.10 Reflow.
    if (wide := page.evaluate(WIDTH)) > NARROWEST["width"]:
        found.append(f"scrolls sideways: {wide} px")
    # A browser itself notes that an address answered 404.
    found += [line for line in visitor.console if path != "/nowhere/" or "404" not in line]
    levels = page.evaluate(LEVELS)
    # 1.3.1 Info and Relationships.
    if levels[:1] != [1] or levels.count(1) > 1 or any(b - a > 1 for a, b in pairwise(levels)):
        found.append(f"headings: {levels}")
    return found


def test_every_page_serves_everyone_at_every_size_in_both_schemes(demo, session, new_context):
    context = new_context(storage_state=session)
    paths = addresses(demo, context.new_page())
    wrong: dict[str, Any] = {}

    for path in paths:
        visitor = Visitor(context.new_page()).watch()
        visitor.page.goto(f"{demo.address}{path}")
        if found := faults(visitor, path):
            wrong[path] = found
        if visitor.hosts != {f"127.0.0.1:{demo.port}"}:
            wrong.setdefault(path, []).append(f"asks {visitor.hosts}")
        visitor.page.close()

    assert wrong == {}
    assert len(paths) == len(set(paths)) > 30


SPOILT = """() => document.querySelector('main').insertAdjacentHTML('beforeend', `
  <button type="button" id="tiny">x</button><p id="pale">Pale words</p><img src="/static/no.png">
  <h4>Skipped a level</h4><div id="wide">wide</div>`)"""
SPOILING = (
    "#tiny {min-width: 0; min-height: 0; width: 20px; height: 20px; padding: 0}"
    " #pale {color: #bbb; background: #fff} #wide {width: 500px}"
)


def test_the_walk_sees_what_is_wrong(visit):
    visitor = visit("/without-signal/", bypass_csp=True)
    before = faults(visitor, "")

    visitor.page.evaluate(SPOILT)
    visitor.page.add_style_tag(content=SPOILING)
    visitor.page.evaluate("fetch('/static/no.png').then(answer => answer.text())")
    found = " ".join(faults(visitor, ""))

    assert before == []
    for sign in ("phone: small: x: 20 × 20", "desk: light: color-contrast", "dark: color-contrast",
                 "image-alt", "scrolls sideways: 5", "headings: [1, 4]", "404"):  # fmt: skip
        assert sign in found


def test_a_page_about_one_thing_says_where_the_walk_finds_its_thing(demo, visit):
    """A new one has to be put into the table of the walk, or this fails."""
    page, there = visit("/without-signal/").page, names()

    assert {name for name in pages(demo, page) if there[name].pattern.converters} == set()
    assert {*ABOUT_ONE_THING, *ITS_OWN, *NOT_HERE} <= set(there)


def test_light_and_dark_really_differ(visit):
    page = visit("/without-signal/").page
    look = "getComputedStyle(document.body).backgroundColor"

    colours = set()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        colours.add(page.evaluate(look))

    assert len(colours) == 2


def test_the_keyboard_reaches_everything_and_shows_where_it_is(visit):
    """2.4.7 Focus Visible; the first stop skips to the page."""
    page = visit("/week/?property=1").page
    stops = page.evaluate(
        "[...document.querySelectorAll('a, button, summary')]"
        ".filter(el => el.checkVisibility()).length"
    )

    seen = []
    for _ in range(stops):
        page.keyboard.press("Tab")
        seen.append(
            page.evaluate(
                "(() => { const el = document.activeElement, css = getComputedStyle(el);"
                " return [el.innerText, css.outlineStyle, parseFloat(css.outlineWidth)]; })()"
            )
        )

    assert seen[0][0] == "Skip to the page"
    assert all(style == "solid" and width >= 2 for _, style, width in seen)
    assert {"Plan again", "Sign out", "Open boards ↓"} <= {said for said, _, _ in seen}


def test_nothing_moves_for_those_who_asked_for_stillness(visit):
    page = visit("/tonight/", reduced_motion="reduce").page

    moving = page.evaluate(
        "[...document.querySelectorAll('*')].filter(el => { const css = getComputedStyle(el);"
        " return css.transitionDuration !== '0s' || css.animationName !== 'none'; }).length"
    )

    assert moving == 0


def test_the_week_is_all_there_without_javascript(visit):
    page = visit("/week/?property=1", java_script_enabled=False).page

    page.locator("summary").first.click()

    assert page.locator(".alerts details li").first.is_visible()
