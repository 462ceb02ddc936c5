"""Addresses of the floor."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.floor import moving, views

urlpatterns = [
    path("", views.floor_page, name="floor"),
    path("board/<int:board_id>/", views.board_page, name="floor-board"),
    path("move/", moving.move, name="floor-move"),
    path("undo/", moving.undo, name="floor-undo"),
    path("sheet.pdf", views.sheet, name="floor-sheet"),
]
