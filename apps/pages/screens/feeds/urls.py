"""Addresses of the calendars: the page that makes them, and the feeds themselves."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.feeds import views

urlpatterns = [
    path("calendar/", views.calendar_page, name="calendar"),
    path("calendar/address/", views.make_address, name="calendar-address"),
    path("calendar/stop/<int:feed_id>/", views.stop_address, name="calendar-stop"),
    path("feed/<str:part>.ics", views.feed, name="feed"),
]
