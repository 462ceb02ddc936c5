"""Addresses of the pile, of what is wanted of it, and of cutting plans."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.timber import adding, cutting, need_edits, needs, pieces, views

urlpatterns = [
    path("", views.pile_page, name="timber"),
    path("new/", adding.new_page, name="timber-new"),
    path("add/", adding.add, name="timber-add"),
    path("piece/<int:piece_id>/", views.piece_page, name="timber-piece"),
    path("piece/<int:piece_id>/change/", adding.change_page, name="timber-edit"),
    path("piece/<int:piece_id>/changed/", adding.change, name="timber-change"),
    path("piece/<int:piece_id>/remove/", adding.remove, name="timber-remove"),
    path("piece/<int:piece_id>/read/", pieces.read, name="timber-read"),
    path("piece/<int:piece_id>/defect/", pieces.add_defect, name="timber-defect"),
    path("piece/<int:piece_id>/no-defect/", pieces.remove_defect, name="timber-no-defect"),
    path("piece/<int:piece_id>/nails/", pieces.nails, name="timber-nails"),
    path("piece/<int:piece_id>/scrap/", pieces.scrap, name="timber-scrap"),
    path("piece/<int:piece_id>/back/", pieces.bring_back, name="timber-back"),
    path("reading/<int:reading_id>/remove/", pieces.unread, name="timber-unread"),
    path("need/<int:need_id>/", views.need_page, name="timber-need"),
    path("need/new/", needs.new_page, name="timber-need-new"),
    path("need/add/", needs.add, name="timber-need-add"),
    path("need/<int:need_id>/change/", need_edits.change_page, name="timber-need-edit"),
    path("need/<int:need_id>/changed/", need_edits.change, name="timber-need-change"),
    path("need/<int:need_id>/remove/", needs.remove, name="timber-need-remove"),
    path("need/<int:need_id>/drop/", needs.drop, name="timber-need-drop"),
    path("need/<int:need_id>/met/", needs.meet, name="timber-need-met"),
    path("need/<int:need_id>/reopen/", needs.reopen, name="timber-need-reopen"),
    path("ask/", cutting.ask, name="timber-ask"),
    path("plan/<int:plan_id>/", views.plan_page, name="timber-plan"),
    path("plan/<int:plan_id>/sheet.pdf", views.sheet, name="timber-sheet"),
    path("plan/<int:plan_id>/apply/", cutting.apply, name="timber-apply"),
    path("plan/<int:plan_id>/undo/", cutting.undo, name="timber-undo"),
    path("cut/<int:cut_id>/", cutting.made, name="timber-cut"),
    path("cut/<int:cut_id>/pin/", cutting.pin, name="timber-pin"),
    path("cut/<int:cut_id>/take-back/", cutting.take_back, name="timber-uncut"),
]
