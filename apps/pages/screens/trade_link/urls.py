"""Addresses of a visit's own page for its trade, and of what is done with the answers."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.trade_link import actions, views

urlpatterns = [
    path("visit/<str:part>/", views.visit_link, name="visit-link"),
    path("replies/", actions.replies_page, name="replies"),
    path("replies/link/<int:visit_id>/", actions.make_link, name="reply-link"),
    path("replies/link/<int:visit_id>/stop/", actions.stop_link, name="reply-link-stop"),
    path("replies/<int:reply_id>/accept/", actions.accept, name="reply-accept"),
    path("replies/<int:reply_id>/dismiss/", actions.dismiss, name="reply-dismiss"),
    path("replies/<int:reply_id>/undo/", actions.undo, name="reply-undo"),
]
