"""Sizes of a room as people write them on one line: 3.62m x 4.1m, 11'10" by 9', 3620 x 4100."""

from __future__ import annotations

import re

from apps.pages.typed_lengths import typed_length_mm

BETWEEN = re.compile(r"\s*(?:x|×|\*|\bby\b)\s*", re.IGNORECASE)
HOW = "Write two lengths like 3.62m x 4.1m, 3620 x 4100 or 11'10\" x 9'."


def typed_size_mm(written: str) -> tuple[int, int]:
    """Width and length in whole millimetres.

    Raises:
        ValueError: for what is not two lengths above nothing, with a sentence that says how.
    """
    parts = BETWEEN.split(written.strip())
    if len(parts) != 2:
        raise ValueError(HOW)
    width_mm, length_mm = (typed_length_mm(part) for part in parts)
    if not width_mm or not length_mm:
        raise ValueError(HOW)
    return width_mm, length_mm
