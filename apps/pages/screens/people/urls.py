"""Addresses of one's own tokens."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.people import views

urlpatterns = [
    path("tokens/", views.tokens_page, name="tokens"),
    path("tokens/new/", views.make, name="token-new"),
    path("tokens/revoke/", views.revoke, name="token-revoke"),
]
