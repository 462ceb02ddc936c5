"""What joins old and new timber: chosen by name, told in plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from apps.checks.fasteners import COMMON, Fastener
from apps.checks.fixing_drawing import drawn
from apps.checks.fixing_patterns import Pattern
from apps.repairs.facts import Asked


class NoRoomError(ValueError):
    """An option that these pieces and fixings cannot make, with the sentence that says why."""


def fastener(asked: Asked) -> Fastener:
    return COMMON[asked.fixing]


def pattern_told(of: str, pattern: Pattern | None, sentence: str) -> Mapping[str, Any]:
    """A pattern with every place, every distance and its drawing (SVG); without one only why there
    is none."""
    if pattern is None:
        return {"of": of, "kind": "none", "count": 0, "sentence": sentence}
    return {
        "of": of,
        "kind": pattern.kind,
        "name": pattern.name,
        "count": pattern.count,
        "columns": list(pattern.columns),
        "rows": pattern.rows,
        "positions": [asdict(one) for one in pattern.positions],
        "distances": [asdict(one) for one in pattern.distances],
        "drawing": drawn(pattern),
        "sentence": pattern.sentence,
    }
