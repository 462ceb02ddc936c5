"""The address of a week."""

from __future__ import annotations

from urllib.parse import urlencode

from django.urls import reverse

from apps.property.models import Property


def week_address(house: Property, *, on: str = "") -> str:
    query = {"property": house.pk, **({"on": on} if on else {})}
    return f"{reverse('week')}?{urlencode(query)}"
