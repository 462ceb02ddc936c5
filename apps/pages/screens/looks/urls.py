"""Addresses of the looks, their papers, their evidence and the completion file."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.house import editing
from apps.pages.screens.looks import (
    asking,
    completion,
    conditions,
    evidence,
    holds,
    papers,
    signing,
    views,
)

urlpatterns = [
    path("", views.looks_page, name="looks"),
    path("usual/", asking.add_usual, name="looks-usual"),
    path("usual/back/", asking.remove_usual, name="looks-usual-back"),
    path("new/", holds.new_page, name="looks-new"),
    path("new/add/", holds.add, name="looks-new-add"),
    path("hold/<int:row_id>/", editing.page_of(holds.EDIT), name="looks-hold"),
    path("hold/<int:row_id>/change/", editing.action_of(holds.EDIT), name="looks-hold-change"),
    path("<int:inspection_id>/", views.inspection_page, name="looks-inspection"),
    path("<int:inspection_id>/sign/", signing.sign, name="looks-sign"),
    path("<int:inspection_id>/notice/", asking.notify, name="looks-notice"),
    path("<int:inspection_id>/notice/back/", asking.withdraw, name="looks-notice-back"),
    path("<int:inspection_id>/book/", asking.book, name="looks-book"),
    path("<int:inspection_id>/book/back/", asking.unbook, name="looks-book-back"),
    path("conditions/<int:condition_id>/clear/", conditions.clear, name="looks-clear"),
    path("conditions/<int:condition_id>/back/", conditions.open_again, name="looks-clear-back"),
    path("papers/", views.papers_page, name="looks-papers"),
    path("deviations/add/", papers.add_deviation, name="looks-deviation"),
    path("deviations/<int:row_id>/remove/", papers.remove_deviation, name="looks-no-deviation"),
    path("deviations/<int:row_id>/put/", papers.put, name="looks-put"),
    path("deviations/<int:row_id>/draft/", papers.back_to_draft, name="looks-draft"),
    path("deviations/<int:row_id>/decide/", papers.decide, name="looks-decide"),
    path("deviations/<int:row_id>/undecide/", papers.undecide, name="looks-undecide"),
    path("certificates/add/", papers.add_certificate, name="looks-certificate"),
    path(
        "certificates/<int:row_id>/remove/", papers.remove_certificate, name="looks-no-certificate"
    ),
    path("certificates/<int:row_id>/came/", papers.receive, name="looks-came"),
    path("certificates/<int:row_id>/back/", papers.not_received, name="looks-came-back"),
    path("evidence/", views.evidence_page, name="looks-evidence"),
    path("evidence/add/", evidence.add, name="looks-evidence-add"),
    path("evidence/<int:evidence_id>/remove/", evidence.remove, name="looks-evidence-remove"),
    path("completion/", completion.completion_page, name="looks-completion"),
    path("completion/ask/", completion.ask, name="looks-completion-ask"),
]
