"""Rules of accessibility that a machine can check, by axe-core, in light and in dark."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
ALL = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": RULES}}
COLOURS = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
}
"""The schemes differ in the variables of colours and in nothing else; these rules see colours."""

RUN = """async (options) => (await axe.run(options)).violations
  .map(row => `${row.id}: ${row.help}: ${row.nodes[0].html.slice(0, 160)}`)"""
UNFOLD = "document.querySelectorAll('details').forEach(el => { el.open = true; })"


def violations(page: Any) -> list[str]:
    """What axe-core finds wrong with an open page, everything on it unfolded, in both schemes.

    One line each: scheme, rule, and the first element it is about.
    """
    page.evaluate(UNFOLD)
    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    found = []
    for scheme, options in (("light", ALL), ("dark", COLOURS)):
        page.emulate_media(color_scheme=scheme)
        found += [f"{scheme}: {line}" for line in page.evaluate(RUN, options)]
    return found
