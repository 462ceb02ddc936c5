"""Addresses of the pages."""

from __future__ import annotations

from django.urls import path

from apps.pages import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.how_to_sign_in, name="sign-in"),
    path("sign-in/<str:ticket>/", views.sign_in, name="sign-in-ticket"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("week/", views.week_page, name="week"),
    path("week/plan-again/", views.plan_again, name="plan-again"),
]
