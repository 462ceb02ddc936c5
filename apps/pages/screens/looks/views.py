"""The pages of the looks; what is done on them is in the modules beside this one."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from apps.inspections.usual import DECIDES
from apps.pages.screens.looks import evidence, papers
from apps.pages.screens.looks.rows import inspection_of
from apps.pages.visiting import Visiting, house_page, page


@house_page
def looks_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Hold points in the order of the plan, and what is owed."""
    # The plan's reads bring geometry: 120 ms, not for every other page.
    from apps.pages.screens.looks.read import looks_shown  # noqa: PLC0415 (see above)

    told = {**looks_shown(found.house), "decides": DECIDES}
    return page(request, found, "pages/looks/page.html", told, here="looks")


@house_page
def inspection_page(request: HttpRequest, found: Visiting, inspection_id: int) -> HttpResponse:
    """One look: what stands before it, its notice, the form for what was said of it."""
    from apps.pages.screens.looks.signing import shown  # noqa: PLC0415 (as above)

    told = shown(found, inspection_of(found, inspection_id))
    return page(request, found, "pages/looks/look.html", told, here="looks")


@house_page
def papers_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Deviations and certificates."""
    return page(request, found, "pages/looks/papers.html", papers.shown(found), here="looks")


@house_page
def evidence_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Every photo and document on file, the newest first."""
    told = evidence.shown(found, number=request.GET.get("page", ""))
    return page(request, found, "pages/looks/evidence.html", told, here="looks")
