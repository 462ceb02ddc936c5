"""Addresses of the house screen: two for each of its parts, two for each kind that is changed."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.house import (
    adding,
    csv_page,
    csv_undo,
    days,
    editing,
    feet,
    floors,
    quiet,
    removing,
    room_preview,
    task_steps,
    views,
    visit_boards,
    visits,
)
from apps.pages.screens.house.editing import Edit
from apps.pages.screens.house.parts import EDITS, PARTS


def place_of(edit: Edit) -> str:
    """The address of the page of a row: /house/rooms/7/, and /house/about/ for the house."""
    name = edit.one.removeprefix("house-").removesuffix("-one")
    return f"{name}/" if edit.kind == "house" else f"{name}/<int:row_id>/"


urlpatterns = [
    path("", views.glance, name="house"),
    path("new/", views.new_house, name="house-new"),
    path("remove/", removing.remove, name="house-remove"),
    path("bring-back/", removing.bring_back, name="house-bring-back"),
    path("put-back/", editing.put_back, name="house-put-back"),
    path("csv/", csv_page.csv_page, name="house-csv"),
    path("csv/look/", csv_page.look, name="house-csv-look"),
    path("csv/take/", csv_page.take, name="house-csv-take"),
    path("csv/undo/", csv_undo.undo, name="house-csv-undo"),
    path("csv/<slug:kind>.csv", csv_page.export, name="house-csv-export"),
    path("feet/", feet.switch, name="house-feet"),
    path("floors/preview/", floors.preview, name="house-preview"),
    path("rooms/preview/", room_preview.preview, name="house-room-preview"),
    path("days/back/", days.back, name="house-days-back"),
    path("days/usual/", days.usual, name="house-days-usual"),
    path("quiet/remove/", quiet.remove, name="house-quiet-remove"),
    path("tasks/<int:task_id>/drop/", task_steps.drop, name="house-task-drop"),
    path("tasks/<int:task_id>/undrop/", task_steps.undrop, name="house-task-undrop"),
    path("tasks/<int:task_id>/after/", task_steps.comes_after, name="house-task-after"),
    path("visits/<int:visit_id>/agree/", visits.agree, name="house-visit-agree"),
    path("visits/<int:visit_id>/off/", visits.call_off, name="house-visit-off"),
    path("visits/<int:visit_id>/back/", visits.back, name="house-visit-back"),
    path("visits/<int:visit_id>/boards/", visit_boards.boards_page, name="house-visit-boards"),
    path("visits/<int:visit_id>/open/", visit_boards.add, name="house-visit-open"),
    path("needs/<int:need_id>/release/", visit_boards.release, name="house-need-release"),
    path("needs/<int:need_id>/hold/", visit_boards.hold, name="house-need-hold"),
    *(path(f"{part.name}/", adding.page_of(part), name=f"house-{part.name}") for part in PARTS),
    *(
        path(f"{part.name}/add/", adding.action_of(part), name=f"house-{part.name}-add")
        for part in PARTS
    ),
    *(path(place_of(edit), editing.page_of(edit), name=edit.one) for edit in EDITS),
    *(
        path(f"{place_of(edit)}change/", editing.action_of(edit), name=f"{edit.one}-change")
        for edit in EDITS
    ),
]
