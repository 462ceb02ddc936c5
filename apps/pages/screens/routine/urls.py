"""Addresses of the page of what happens by itself."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.routine import views

urlpatterns = [
    path("", views.routine_page, name="by-itself"),
    path("change/", views.change, name="by-itself-change"),
]
