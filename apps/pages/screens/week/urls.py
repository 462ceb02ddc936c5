"""Addresses of the week, its visits, and of what is tried on it."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.week import trying, views

urlpatterns = [
    path("", views.week_page, name="week"),
    path("plan-again/", views.plan_again, name="plan-again"),
    path("sheet.pdf", views.week_sheet, name="week-sheet"),
    path("visit/<int:visit_id>/", views.visit_page, name="week-visit"),
    path("visit/<int:visit_id>/sheet", views.visit_sheet, name="week-visit-sheet"),
    path("visit/<int:visit_id>/try/", trying.visit_elsewhen, name="week-move"),
    path("day-off/try/", trying.day_off, name="week-day-off"),
    path("two-hours/try/", trying.two_hours, name="week-two-hours"),
    path("remedy/try/", trying.remedy, name="week-remedy"),
    path("changes/<int:plan_id>/", views.changes_page, name="week-changes"),
    path("changes/<int:plan_id>/again/", trying.again, name="week-again"),
    path("changes/<int:plan_id>/accept/", trying.accept, name="week-accept"),
    path("back/", trying.back, name="week-back"),
]
