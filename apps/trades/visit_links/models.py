"""Addresses for single visits, and the answers of trades who opened them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from renovation.models import Record

LONGEST_NOTE = 500


class VisitLink(Record):
    """An address under which one visit can be read and answered without signing in.

    Of the address only the `digest` is kept. It ends by itself (`expires_at`) or when somebody
    stops it (`revoked_at`).
    """

    scope_path: ClassVar[str] = "visit__property"

    visit = models.ForeignKey("trades.Visit", models.CASCADE, related_name="links")
    digest = models.CharField(max_length=64, null=True, unique=True, editable=False)  # noqa: DJ001
    expires_at = models.DateTimeField(null=True, blank=True, editable=False)
    address_made_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+", editable=False
    )

    class Meta:
        ordering = ["visit", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit"],
                name="visit_link_once_per_visit",
                violation_error_message="This visit has a link already.",
            ),
            models.CheckConstraint(
                condition=Q(digest__isnull=True)
                | Q(expires_at__isnull=False, address_made_at__isnull=False),
                name="visit_link_address_ends",
            ),
        ]

    def __str__(self) -> str:
        return f"The link for {self.visit}"


class VisitReply(Record):
    """What a trade answered. It proposes and changes nothing; what was said is never altered.

    `starts` and `ends`: for `can_come` the time that was shown, for `cannot_come` another time
    that would do. `before` is how the visit stood when an answer was accepted, for its undoing.
    """

    scope_path: ClassVar[str] = "visit__property"

    class Answer(models.TextChoices):
        CAN_COME = "can_come"
        CANNOT_COME = "cannot_come"
        FINISHED = "finished"

    class State(models.TextChoices):
        OPEN = "open"
        ACCEPTED = "accepted"
        DISMISSED = "dismissed"

    visit = models.ForeignKey("trades.Visit", models.CASCADE, related_name="replies")
    answer = models.CharField(max_length=11, choices=Answer, editable=False)
    note = models.CharField(max_length=LONGEST_NOTE, blank=True, editable=False)
    starts = models.DateTimeField(null=True, blank=True, editable=False)
    ends = models.DateTimeField(null=True, blank=True, editable=False)
    said_at = models.DateTimeField(editable=False)
    state = models.CharField(max_length=9, choices=State, default=State.OPEN, editable=False)
    before = models.JSONField(null=True, editable=False)
    decided_at = models.DateTimeField(null=True, blank=True, editable=False)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+", editable=False
    )

    class Meta:
        ordering = ["-said_at", "-pk"]
        verbose_name_plural = "visit replies"
        constraints = [
            models.CheckConstraint(
                condition=Q(starts__isnull=True, ends__isnull=True) | Q(starts__lt=F("ends")),
                name="visit_reply_times_in_order",
                violation_error_message="It ends after it starts.",
            ),
            models.CheckConstraint(
                condition=Q(state="open", decided_at__isnull=True)
                | (~Q(state="open") & Q(decided_at__isnull=False)),
                name="visit_reply_decided_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit}: {self.get_answer_display().lower()}"
