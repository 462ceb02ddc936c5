"""The checks: a form each, all joists of a floor at once, and levelling. Nothing is kept."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse

from apps.checks.api.calculator import Calculator
from apps.checks.api.calculators import CALCULATORS
from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.checks.answers import shown
from apps.pages.screens.checks.form import Filling, form_of, named_in
from apps.pages.screens.checks.house import (
    FROM_FLOOR,
    FROM_JOIST,
    begun,
    floor_of,
    joists_by_floor,
)
from apps.pages.screens.checks.starts import STARTS
from apps.pages.screens.checks.typed import Asked, Texts, flat, overlaid, read
from apps.pages.visiting import Visiting, house_page, page, trouble

BY_NAME = {one.name: one for one in CALCULATORS}
NO_SUCH_FLOOR = "There is no such floor in this house."


@house_page
def checks_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What can be asked, and the floors whose joists can be checked at once."""
    floors = found.house.floors.select_related("storey").order_by("storey__level", "pk")
    told = {"calculators": CALCULATORS, "floors": list(floors)}
    return page(request, found, "pages/checks/page.html", told, here="checks")


@house_page
def ask(request: HttpRequest, found: Visiting, name: str) -> HttpResponse:
    """One check: its form, and the answer to what the form says."""
    calculator = BY_NAME.get(name)
    if calculator is None:
        return trouble(request, "There is no such check here.")
    start = STARTS[name]
    given, source, wrong = begun(
        name,
        start,
        found.house,
        joist=request.GET.get("joist", ""),
        floor=request.GET.get("floor", ""),
    )
    if wrong:
        return trouble(request, wrong)
    base = flat(calculator.asked, given)
    texts = overlaid(base, request.GET)
    asked, answer = worked_out(calculator, texts, base)
    from apps.pages.screens.checks.drawn import drawing  # noqa: PLC0415 (only pages that draw)

    svg, caption = ("", "") if asked.question is None else drawing(name, asked.question, answer)
    told = {
        "calculator": calculator,
        "form": form_of(calculator.asked, Filling(texts, asked.errors, named_in(start))),
        "errors": asked.errors,
        "whole_errors": asked.errors.get("", []),
        "answer": None if answer is None else shown(name, answer),
        "source": source,
        "typed": texts != base,
        # Escaped word by word where it is drawn.
        "svg": as_drawn(svg),
        "caption": caption,
        "joists": joists_by_floor(found.house) if name in FROM_JOIST else [],
        "floors": list(found.house.floors.select_related("storey")) if name in FROM_FLOOR else [],
    }
    status = HTTPStatus.BAD_REQUEST if asked.errors else HTTPStatus.OK
    return page(request, found, "pages/checks/ask.html", told, here="checks", status=status)


def worked_out(calculator: Calculator, texts: Texts, base: Texts) -> tuple[Asked, Any]:
    """The question and its answer, or which field is wrong with what."""
    asked = read(calculator.asked, texts, base)
    if asked.question is None:
        return asked, None
    try:
        return asked, calculator.work(asked.question)
    except ValueError as exc:
        changed = [key for key, value in texts.items() if value != base.get(key, "")]
        asked.errors[changed[0] if len(changed) == 1 else ""] = [str(exc)]
        return asked, None


@house_page
def floor_page(request: HttpRequest, found: Visiting, floor_id: int) -> HttpResponse:
    """Every joist of a floor, the worst first."""
    floor = floor_of(found.house, floor_id)
    if floor is None:
        return trouble(request, NO_SUCH_FLOOR)
    from apps.floors.joist_checks import check_floor  # noqa: PLC0415 (only this page needs it)
    from apps.pages.screens.checks.answers import VERDICTS, Bar  # noqa: PLC0415 (with it)

    checked = check_floor(floor)
    there = [line for line in checked.joists if line.condition != "missing"]
    worst = sorted(there, key=lambda one: (not one.blocked, -(one.utilisation or 0), one.joist))
    told = {
        "floor": floor,
        "checked": checked,
        "lines": [
            (line, *VERDICTS[line.passes], Bar(line.governing) if line.governing else None)
            for line in worst
        ],
    }
    return page(request, found, "pages/checks/floor.html", told, here="checks")


@house_page
def levels_page(request: HttpRequest, found: Visiting, floor_id: int) -> HttpResponse:
    """How a floor lies, and which packers make it level."""
    floor = floor_of(found.house, floor_id)
    if floor is None:
        return trouble(request, NO_SUCH_FLOOR)
    from apps.pages.screens.checks import levels  # noqa: PLC0415 (geometry, ortools)
    from apps.pages.screens.checks.drawn import (  # noqa: PLC0415 (only pages that draw)
        LEVEL_WORDS,
        MAP_WORDS,
        levels_from_above,
        levels_picture,
    )

    view = levels.read_levels(floor, request.GET)
    # With its unit in the cell, a height is a length like any other, and told in inches too.
    unit = " mm" if found.shows_feet else ""
    rows: list[tuple[Any, ...]] = [
        (line.joist, line.bearing or f"{line.along_mm} mm along",
         f"{packers}{unit}"
         if (packers := " + ".join(f"{mm:g}" for mm in line.packers_mm)) else "none",
         f"{line.planed_mm:g}{unit}" if line.planed_mm else "", f"{line.final_mm:+.1f}{unit}")
        for line in (view.answer.sheet if view.answer else ())
    ]  # fmt: skip
    if not view.answer:
        rows = [
            (
                spot.joist,
                spot.bearing or f"{spot.along_mm} mm along",
                f"{spot.height_mm:+.1f}{unit}",
            )
            for spot in view.spots
        ]
    told = {
        "view": view,
        "floor": floor,
        "answer": shown("levels", view.answer) if view.answer else None,
        "flatness": levels.FLATNESS_WORDS,
        # Escaped word by word where it is drawn.
        "svg": as_drawn(levels_picture(view.spots, view.answer)) if view.spots else "",
        "map": as_drawn(levels_from_above(view.spots, view.answer)),
        "map_caption": MAP_WORDS,
        "caption": LEVEL_WORDS,
        "columns": ["Joist", "Where", "Packers, mm", "Plane off, mm", "Ends at, mm"]
        if view.answer
        else ["Joist", "Where", "Height, mm"],
        "rows": rows,
        "sheet_query": urlencode({"property": found.house.pk, **view.query}),
    }
    status = HTTPStatus.BAD_REQUEST if view.errors else HTTPStatus.OK
    return page(request, found, "pages/checks/levels.html", told, here="checks", status=status)


@house_page
def levels_sheet(request: HttpRequest, found: Visiting, floor_id: int) -> HttpResponse:
    """Packers per bearing on A4, as a PDF."""
    floor = floor_of(found.house, floor_id)
    if floor is None:
        return trouble(request, NO_SUCH_FLOOR)
    from apps.pages.screens.checks.levels import read_levels  # noqa: PLC0415 (geometry, ortools)
    from apps.pages.screens.checks.sheet import levels_pdf  # noqa: PLC0415 (typst, 20 MB)

    view = read_levels(floor, request.GET)
    if view.answer is None:
        why = " ".join(view.errors.values()) or "Measure heights over the bearings first."
        return trouble(request, why, status=HTTPStatus.BAD_REQUEST)
    content = levels_pdf(
        view, house=found.house.name, now=found.now, zone=found.zone, shows_feet=found.shows_feet
    )
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="levels.pdf"'},
    )
