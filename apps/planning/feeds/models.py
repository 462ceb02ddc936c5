"""Calendar feeds, and what each has told its readers."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from apps.property.models import Property
from apps.work.models import Trade
from renovation.models import Record


class CalendarFeed(Record):
    """One person's or one trade's calendar, behind an address that only its holder knows.

    Of the address only the `digest` is kept; without one nobody can read the feed. `uid_space`
    makes the events' UIDs unique in the world and the same whatever the host is called.
    """

    property = models.ForeignKey(Property, models.CASCADE, related_name="calendar_feeds")
    person = models.ForeignKey(
        "planning.Person", models.CASCADE, related_name="calendar_feeds", null=True, blank=True
    )
    trade = models.ForeignKey(
        Trade, models.CASCADE, related_name="calendar_feeds", null=True, blank=True
    )
    digest = models.CharField(max_length=64, null=True, unique=True, editable=False)  # noqa: DJ001
    uid_space = models.UUIDField(default=uuid.uuid4, editable=False)
    address_made_at = models.DateTimeField(null=True, blank=True, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+", editable=False
    )

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(person__isnull=False, trade__isnull=True)
                | Q(person__isnull=True, trade__isnull=False),
                name="calendar_feed_of_one",
                violation_error_message="Say whose calendar it is: one person's or one trade's.",
            ),
            models.UniqueConstraint(
                fields=["person"],
                name="calendar_feed_once_per_person",
                violation_error_message="This person has a calendar already.",
            ),
            models.UniqueConstraint(
                fields=["trade"],
                name="calendar_feed_once_per_trade",
                violation_error_message="This trade has a calendar already.",
            ),
            models.CheckConstraint(
                condition=Q(digest__isnull=True, address_made_at__isnull=True)
                | Q(digest__isnull=False, address_made_at__isnull=False),
                name="calendar_feed_address_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person or self.trade}'s calendar"


class FeedEntry(models.Model):
    """One event as a feed told it last. Kept for ever, so that its UID never starts again."""

    feed = models.ForeignKey(CalendarFeed, models.CASCADE, related_name="entries")
    kind = models.CharField(max_length=10)
    about = models.BigIntegerField(help_text="The id of the task, visit or inspection.")
    number = models.PositiveIntegerField(help_text="Which stretch of it, from 1.")
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    all_day = models.BooleanField(default=False)
    tentative = models.BooleanField(default=False)
    title = models.TextField()
    place = models.TextField(blank=True)
    note = models.TextField(blank=True)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["feed", "starts", "pk"]
        verbose_name_plural = "feed entries"
        constraints = [
            models.UniqueConstraint(
                fields=["feed", "kind", "about", "number"], name="feed_entry_once"
            ),
            models.CheckConstraint(
                condition=Q(starts__lt=F("ends")), name="feed_entry_ends_after_start"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.about}.{self.number}: {self.title}"
