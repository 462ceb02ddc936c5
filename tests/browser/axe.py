"""Rules of accessibility that a machine can check, by axe-core, in light and in dark."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OPTIONS = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": RULES}}


def violations(page: Any) -> list[str]:
    """What axe-core finds wrong with an open page, everything on it unfolded, in both schemes.

    One line each: scheme, rule, and the first element it is about.
    """
    page.evaluate("document.querySelectorAll('details').forEach(el => { el.open = true; })")
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for row in Axe().run(page, options=OPTIONS).response["violations"]:
            where = row["nodes"][0]
            found.append(f"{scheme}: {row['id']}: {row['help']}: {where['html'][:160]}")
    return found
