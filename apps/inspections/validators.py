"""What the inspections' free-form columns may hold."""

from __future__ import annotations

import re
from typing import Any

from django.core.exceptions import ValidationError

KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
LONGEST_KEY = 40
LONGEST_TITLE = 200
MOST_REQUIRED = 20


def required_evidence(value: Any) -> None:
    """Check `[{"key": "joist-ends", "title": "Joist ends before boards"}, …]`, each key once."""
    example = 'Give what must be on file as [{"key": "joist-ends", "title": "Joist ends"}].'
    if not isinstance(value, list) or not all(
        isinstance(item, dict) and set(item) == {"key", "title"} for item in value
    ):
        raise ValidationError(example)
    if len(value) > MOST_REQUIRED:
        raise ValidationError(f"Ask for at most {MOST_REQUIRED} pieces of evidence.")
    for item in value:
        key, title = item["key"], item["title"]
        if not isinstance(key, str) or len(key) > LONGEST_KEY or not KEY.fullmatch(key):
            raise ValidationError(
                f"A key is at most {LONGEST_KEY} small letters, digits and single hyphens."
            )
        if not isinstance(title, str) or not title.strip() or len(title) > LONGEST_TITLE:
            raise ValidationError(f"A title is 1 to {LONGEST_TITLE} characters.")
    if len({item["key"] for item in value}) != len(value):
        raise ValidationError("Each key is there once.")
