"""Addresses of the checks."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.checks import views

urlpatterns = [
    path("", views.checks_page, name="checks"),
    path("ask/<slug:name>/", views.ask, name="checks-ask"),
    path("floor/<int:floor_id>/", views.floor_page, name="checks-floor"),
    path("levels/<int:floor_id>/", views.levels_page, name="checks-levels"),
    path("levels/<int:floor_id>/sheet.pdf", views.levels_sheet, name="checks-levels-sheet"),
]
