"""Addresses of taking a house along, and of bringing one in."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.moving import along, bring_in

urlpatterns = [
    path("house/along/", along.along_page, name="house-along"),
    path("house/along/ask/", along.ask, name="house-along-ask"),
    path("house/along/stop/", along.stop, name="house-along-stop"),
    path("house/along/remove/", along.remove, name="house-along-remove"),
    path("houses/bring-in/", bring_in.bring_in, name="bring-in"),
    path("houses/bring-in/stop/", bring_in.stop, name="bring-in-stop"),
]
