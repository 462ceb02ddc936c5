"""Addresses of the house screen: two for each of its parts."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.house import floors, removing, views
from apps.pages.screens.house.adding import action_of, page_of
from apps.pages.screens.house.parts import PARTS

urlpatterns = [
    path("", views.glance, name="house"),
    path("new/", views.new_house, name="house-new"),
    path("remove/", removing.remove, name="house-remove"),
    path("floors/preview/", floors.preview, name="house-preview"),
    *(path(f"{part.name}/", page_of(part), name=f"house-{part.name}") for part in PARTS),
    *(path(f"{part.name}/add/", action_of(part), name=f"house-{part.name}-add") for part in PARTS),
]
