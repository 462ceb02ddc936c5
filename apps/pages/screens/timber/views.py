"""The pile, a piece, a need, a cutting plan, and the cut list to print."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse

from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.timber.written import need_of, piece_of, plan_of
from apps.pages.visiting import Visiting, house_page, id_of, page, trouble
from apps.timber.models import CuttingPlan
from apps.timber.pieces_as_data import Role

LEAST_LIMIT_PCT, MOST_LIMIT_PCT = 5, 100
PLANS_SHOWN = 5


@house_page
def pile_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What lies there, what is wanted, and the plans made so far."""
    # The matching with its forecasts takes 0.3 s to load: not for every other page.
    from apps.pages.screens.timber import read  # noqa: PLC0415
    from apps.pages.screens.timber.plan import PLAN_WORDS  # noqa: PLC0415
    from apps.timber.wet import wet_timber  # noqa: PLC0415

    search = request.GET.get("q", "").strip()[:80].replace("\0", "")
    state = request.GET.get("state", "there")
    state = state if state in read.FILTERS else "there"
    first = min(id_of(request.GET.get("from", "")) or 0, 100_000)
    asked = read.pieces_asked(found, search, state)
    rows = list(asked[first : first + read.SHOWN_AT_ONCE + 1])
    shown = {
        "rows": read.stock_rows(rows[: read.SHOWN_AT_ONCE], Role.JOIST),
        "more": urlencode({"q": search, "state": state, "from": first + read.SHOWN_AT_ONCE})
        if len(rows) > read.SHOWN_AT_ONCE
        else "",
        "search": search,
        "states": [(key, words, key == state) for key, words in read.FILTERS.items()],
        "asked": bool(search) or state != "there" or first > 0,
        "legend": read.legend(),
        "needs": read.needs_with_best(found),
        "wet": [
            {"piece": one.piece, "need": one.need, "sentence": one.sentence}
            for one in wet_timber(found.house, today=found.today)
        ],
        "plans": [
            (plan, PLAN_WORDS[plan.state])
            for plan in CuttingPlan.objects.filter(property=found.house)[:PLANS_SHOWN]
        ],
    }
    return page(request, found, "pages/timber/page.html", shown, here="timber")


@house_page
def piece_page(request: HttpRequest, found: Visiting, piece_id: int) -> HttpResponse:
    """One piece: drawn, read, and when it will be dry."""
    from apps.pages.screens.timber import read  # noqa: PLC0415 (forecasts, 0.3 s)

    role = request.GET.get("role", "")
    role = role if role in list(Role) else Role.JOIST.value
    limit = id_of(request.GET.get("limit", "")) or 20
    limit = min(max(limit, LEAST_LIMIT_PCT), MOST_LIMIT_PCT)
    shown = read.piece_shown(
        piece_of(found, piece_id), role=role, limit_pct=float(limit), today=found.today
    )
    return page(request, found, "pages/timber/piece.html", shown, here="timber")


@house_page
def need_page(request: HttpRequest, found: Visiting, need_id: int) -> HttpResponse:
    """One need: what would do, and why each other piece would not."""
    from apps.pages.screens.timber import read  # noqa: PLC0415 (forecasts, 0.3 s)

    shown = read.need_shown(need_of(found, need_id), today=found.today)
    return page(request, found, "pages/timber/need.html", shown, here="timber")


@house_page
def plan_page(request: HttpRequest, found: Visiting, plan_id: int) -> HttpResponse:
    """A cutting plan, bar by bar."""
    from apps.pages.screens.timber.plan import plan_shown  # noqa: PLC0415 (cutting, 0.2 s)

    shown = plan_shown(plan_of(found, plan_id), today=found.today)
    for bar in shown["bars"]:
        # Escaped word by word where it is drawn.
        bar["svg"] = as_drawn(bar["svg"])
    return page(request, found, "pages/timber/plan.html", shown, here="timber")


@house_page
def sheet(request: HttpRequest, found: Visiting, plan_id: int) -> HttpResponse:
    """The cut list on A4, as a PDF."""
    from apps.pages.screens.timber.plan import plan_shown  # noqa: PLC0415 (cutting, 0.2 s)
    from apps.pages.screens.timber.sheet import sheet_of  # noqa: PLC0415 (typst, 20 MB)

    shown = plan_shown(plan_of(found, plan_id), today=found.today)
    if not shown["bars"] and not shown["unmet"] and not shown["buy"]:
        return trouble(request, "There is nothing on this plan to print.")
    content = sheet_of(
        shown, house=str(found.house), now=found.now, zone=found.zone, shows_feet=found.shows_feet
    )
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="cut-list.pdf"'},
    )
