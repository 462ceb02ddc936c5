"""Addresses of the pages."""

from __future__ import annotations

from django.urls import include, path

from apps.pages import offline, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.how_to_sign_in, name="sign-in"),
    path("sign-in/<str:ticket>/", views.sign_in, name="sign-in-ticket"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("houses/", views.houses_page, name="houses"),
    path("houses/look-round/", views.look_round, name="look-round"),
    path("sw.js", offline.service_worker, name="service-worker"),
    path("without-signal/", offline.without_signal, name="without-signal"),
    path("tonight/", include("apps.pages.screens.tonight.urls")),
    path("floor/", include("apps.pages.screens.floor.urls")),
    path("week/", include("apps.pages.screens.week.urls")),
    path("timber/", include("apps.pages.screens.timber.urls")),
    path("checks/", include("apps.pages.screens.checks.urls")),
    path("looks/", include("apps.pages.screens.looks.urls")),
    path("house/members/", include("apps.pages.screens.members.urls")),
    path("house/by-itself/", include("apps.pages.screens.routine.urls")),
    path("house/", include("apps.pages.screens.house.urls")),
    path("", include("apps.pages.screens.moving.urls")),
    path("", include("apps.pages.screens.people.urls")),
    path("", include("apps.pages.screens.feeds.urls")),
    path("", include("apps.pages.screens.trade_link.urls")),
]
