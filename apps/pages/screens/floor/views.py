"""The floor: a storey to scale, its boards to tap, and the sheet to print."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpRequest, HttpResponse

from apps.floors.models import Board
from apps.pages.drawing.plan import on_screen
from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.floor.choice import LAYER_WORDS, Choice, chosen
from apps.pages.visiting import Visiting, house_page, page, trouble

NO_SUCH_FLOOR = "There is no such storey or floor in this house."


@house_page
def floor_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The drawing, who needs what open, tonight's ways, and every board in a list."""
    choice = chosen(found.house, request.GET)
    if choice is None:
        return nothing_to_draw(request, found)
    # Geometry takes 120 ms to load: not for every other page.
    from apps.pages.drawing.legend import legend  # noqa: PLC0415
    from apps.pages.screens.floor.board import DO_WORDS  # noqa: PLC0415
    from apps.pages.screens.floor.read import read_floor  # noqa: PLC0415

    view = read_floor(choice, now=found.now)
    drawing = on_screen(view.plan, view.window, layers=choice.layers, name=name_of(choice))
    shown = {
        "choice": choice,
        "places": places(choice),
        "layers": [(key, word, key in choice.layers) for key, word in LAYER_WORDS.items()],
        "picked": set(request.GET.getlist("board")),
        # Escaped word by word where it is drawn.
        "svg": as_drawn(drawing.svg),
        "legend": [
            {"kind": one.kind, "svg": as_drawn(one.swatch), "letter": one.letter,
             "words": one.words}
            for one in legend()
        ],
        "groups": [
            {
                "floor": floor,
                "boards": [
                    (one, view.held_for(one.id)) for one in view.boards if one.floor_id == floor.pk
                ],
            }
            for floor in choice.shown
        ],
        "to_lay": [one for one in view.boards if one.tonight == "lay" and one.state == "up"],
        "holders": view.holders,
        "ways": view.ways,
        "cut": [way for way in view.ways if not way["holds"]],
        "moves": [(state, words[0]) for state, words in DO_WORDS.items()],
        "sheet_query": choice.query(),
    }  # fmt: skip
    return page(request, found, "pages/floor/page.html", shown, here="floor")


@house_page
def board_page(request: HttpRequest, found: Visiting, board_id: int) -> HttpResponse:
    """One board: its state, for whom it is held, its log, and how to move it."""
    board = (
        Board.objects.filter(floor__property=found.house, pk=board_id)
        .select_related("floor__property", "floor__storey")
        .first()
    )
    if board is None:
        return trouble(request, "There is no such board in this house.")
    from apps.pages.screens.floor.board import board_card  # noqa: PLC0415 (geometry, 120 ms)

    return page(request, found, "pages/floor/board.html", board_card(found, board), here="floor")


@house_page
def sheet(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The drawing on A4 to a stated scale, as a PDF."""
    choice = chosen(found.house, request.GET)
    if choice is None:
        return nothing_to_draw(request, found)
    from apps.pages.screens.floor.read import read_floor  # noqa: PLC0415 (geometry, 120 ms)
    from apps.pages.screens.floor.sheet import sheet_of  # noqa: PLC0415 (typst, 20 MB)

    content = sheet_of(read_floor(choice, now=found.now), zone=found.zone)
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="floor.pdf"'},
    )


def nothing_to_draw(request: HttpRequest, found: Visiting) -> HttpResponse:
    if found.house.storeys.exists():
        return trouble(request, NO_SUCH_FLOOR)
    return page(request, found, "pages/floor/empty.html", {}, here="floor", status=HTTPStatus.OK)


def name_of(choice: Choice) -> str:
    where = str(choice.floor or choice.storey.name)
    return f"Drawing of {where}, to scale. The same is in the list of boards below."


def places(choice: Choice) -> list[dict[str, object]]:
    """Every storey with its floors, as links; the one that is shown is marked."""
    found: list[dict[str, object]] = []
    for storey in choice.storeys:
        here = storey == choice.storey
        found.append(
            {
                "name": storey.name,
                "query": choice.query(storey=storey.pk, floor=None),
                "here": here and choice.floor is None,
                "floors": [
                    {
                        "name": floor.name,
                        "query": choice.query(storey=None, floor=floor.pk),
                        "here": floor == choice.floor,
                    }
                    for floor in choice.on(storey)
                ],
            }
        )
    return found
