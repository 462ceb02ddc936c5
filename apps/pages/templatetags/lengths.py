"""Lengths as the person wants to read them: `{% load lengths %}`."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import mark_safe

from apps.pages.feet import page_with_feet

register = template.Library()

AS_WRITTEN = frozenset({"looks"})
"""Screens that show the record word for word."""
OF_TIMBER = frozenset({"timber", "checks"})
"""Screens whose long lengths are sawn, and told as exactly as short ones."""


@register.simple_block_tag(takes_context=True)
def both_lengths(context: Any, content: str) -> str:
    """What is between the tags, with feet and inches behind each length, where the person chose so.

    Around every page (`base.html`): no screen can forget it, and none has to think of it.
    """
    here = context.get("here", "")
    if not context.get("shows_feet") or here in AS_WRITTEN:
        return mark_safe(content)  # noqa: S308  # nosec B308 B703 # rendered by the template
    return mark_safe(page_with_feet(content, of_rooms=here not in OF_TIMBER))  # noqa: S308  # nosec B308 B703 # the same, with feet
