"""Tonight: what to do in the next stretch of work, what to leave safe, who comes next."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from apps.pages import demo_house
from apps.pages.visiting import Visiting, house_page, page


@house_page
def tonight_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What to do, in order; without a plan, what a first one needs."""
    # Geometry takes 120 ms to load: not for every other page.
    from apps.pages.screens.tonight.read import shown  # noqa: PLC0415

    told = shown(found.house, now=found.now)
    if told["plan"] is None:
        told["may_add_demo"] = demo_house.may_add(found.user)
        return page(request, found, "pages/tonight/first.html", told, here="tonight")
    return page(request, found, "pages/tonight/page.html", told, here="tonight")
