"""Marks and names in a sentence."""

from __future__ import annotations

from collections.abc import Sequence

SHOWN = 12


def listed(names: Sequence[str], shown: int = SHOWN) -> str:
    """Names as people write them: "B1.1", "B1.1 and B2.1", "B1.1, B2.1 and 3 more"."""
    if len(names) > shown:
        return f"{', '.join(names[:shown])} and {len(names) - shown} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
