"""Addresses of the page that says who gets into a house."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.members import views

urlpatterns = [
    path("", views.members_page, name="members"),
    path("add/", views.add, name="members-add"),
    path("back/", views.bring_back, name="members-back"),
    path("<int:member_id>/role/", views.change_role, name="members-role"),
    path("<int:member_id>/remove/", views.remove, name="members-remove"),
]
