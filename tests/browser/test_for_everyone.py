"""What every page owes its reader: legible, reachable, quiet.

Success criteria by number are those of the Web Content Accessibility Guidelines 2.2, W3C
Recommendation, 5 October 2023 (from memory). Targets are 44 px, the size its AAA criterion
2.5.5 asks for, since gloved thumbs are what they are.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from tests.browser.conftest import SIZES, Visitor

PAGES = [
    "/tonight/",
    "/week/?property=1",
    "/week/?property=1&on=2020-01-06",
    "/week/visit/1/",
    "/floor/?floor=1",
    "/timber/",
    "/timber/piece/11/",
    "/timber/plan/1/",
    "/timber/need/1/",
    "/timber/new/",
    "/checks/",
    "/checks/ask/cuts/",
    "/calendar/",
    "/replies/",
    "/sign-in/",
    "/nowhere/",
]
every_page = pytest.mark.parametrize("path", PAGES)

SMALL_TARGETS = """() => [...document.querySelectorAll('a, button, summary')]
  .filter(el => el.checkVisibility() && !el.classList.contains('skip'))
  .map(el => ({say: el.innerText, box: el.getBoundingClientRect()}))
  .filter(({box}) => box.width < 44 || box.height < 44)
  .map(({say, box}) => `${say}: ${box.width} × ${box.height}`)"""

# Relative luminance and contrast ratio as WCAG 2.2 defines them; the squares of the paper
# count as a background too.
WEAK_CONTRASTS = """() => {
  const parse = c => (c.match(/[0-9.]+/g) || []).map(Number);
  const lum = ([r, g, b]) => [r, g, b].map(v => v / 255)
    .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ratio = (a, b) => {
    const [hi, lo] = [lum(a), lum(b)].sort((x, y) => y - x);
    return (hi + 0.05) / (lo + 0.05);
  };
  const squares = document.createElement('i');
  squares.style.color = 'var(--square)'; document.body.append(squares);
  const square = parse(getComputedStyle(squares).color); squares.remove();
  const weak = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let looked = 0;
  while (texts.nextNode()) {
    const said = texts.currentNode.textContent.trim();
    const el = texts.currentNode.parentElement;
    if (!said || !el.checkVisibility()) continue;
    let under = el;
    const colour = () => parse(getComputedStyle(under).backgroundColor);
    while (under !== document.body && (colour()[3] ?? 1) === 0) under = under.parentElement;
    const behind = [colour()];
    if (under === document.body) behind.push(square);
    looked += 1;
    const worst = Math.min(...behind.map(b => ratio(parse(getComputedStyle(el).color), b)));
    if (worst < 4.5) weak.push(`${said.slice(0, 40)}: ${worst.toFixed(2)}`);
  }
  return {looked, weak};
}"""

OPEN_ALL = "() => document.querySelectorAll('details').forEach(el => { el.open = true; })"


@pytest.fixture(scope="module")
def shown(demo: Any, session: Any, browser: Any) -> Any:
    """A page, everything on it unfolded, at some size; each address is opened once."""
    context = browser.new_context(storage_state=session, viewport=SIZES["phone"])
    known: dict[str, Visitor] = {}

    def at(path: str, width: int = 390, scheme: str = "light") -> Visitor:
        if path not in known:
            known[path] = Visitor(context.new_page()).watch()
            known[path].page.goto(f"{demo.address}{path}")
            known[path].page.evaluate(OPEN_ALL)
        known[path].page.set_viewport_size({"width": width, "height": 844})
        known[path].page.emulate_media(color_scheme=scheme)
        return known[path]

    yield at
    context.close()


@every_page
def test_no_page_makes_a_noise_or_asks_another_host(demo, shown, path):
    visitor = shown(path)

    # A browser itself notes that an address answered 404.
    assert [said for said in visitor.console if path != "/nowhere/" or "404" not in said] == []
    assert visitor.hosts == {f"127.0.0.1:{demo.port}"}


@every_page
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_page_scrolls_sideways(shown, path, width):
    """1.4.10 Reflow: down to 320 px."""
    page = shown(path, width).page

    assert page.evaluate("document.documentElement.scrollWidth") <= width


@every_page
@pytest.mark.parametrize("width", [390, 1280])
def test_whatever_can_be_tapped_is_big_enough(shown, path, width):
    page = shown(path, width).page

    assert page.locator("a, button, summary").count() > 1
    assert page.evaluate(SMALL_TARGETS) == []


@every_page
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_what_is_behind_it(shown, path, scheme):
    """1.4.3 Contrast (Minimum): 4.5 to 1."""
    found = shown(path, scheme=scheme).page.evaluate(WEAK_CONTRASTS)

    assert found["looked"] > 5
    assert found["weak"] == []


def test_light_and_dark_really_differ(shown):
    look = "getComputedStyle(document.body).backgroundColor"

    colours = {
        shown("/sign-in/", scheme=scheme).page.evaluate(look) for scheme in ("light", "dark")
    }

    assert len(colours) == 2


@every_page
def test_headings_and_landmarks_make_an_outline(shown, path):
    """1.3.1 Info and Relationships, 2.4.1 Bypass Blocks."""
    page = shown(path).page

    levels = page.evaluate(
        "[...document.querySelectorAll('h1, h2, h3')].map(el => Number(el.tagName[1]))"
    )

    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    for role in ("banner", "main", "contentinfo"):
        assert page.get_by_role(role).count() == 1
    assert page.evaluate("document.documentElement.lang") == "en-GB"


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
