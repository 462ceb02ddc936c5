"""What a house wants to happen by itself, and what has happened so already."""

from __future__ import annotations

from datetime import time
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from apps.property.models import Property
from apps.trades.models import TemporaryMeasure
from renovation.models import Record

MOST_DELAY_MINUTES = 24 * 60


class PlanningPreferences(Record):
    """What a house wants of the planner without asking each time. Without a row: the defaults.

    `edited_at` is the first edit that no plan knows of, `replan_at` when one is made for it.
    """

    property = models.ForeignKey(Property, models.CASCADE, related_name="planning_preferences")
    replans_at_night = models.BooleanField(default=True)
    replans_after_edits = models.BooleanField(default=False)
    replan_delay_minutes = models.PositiveSmallIntegerField(default=10)
    brief_to = models.EmailField(blank=True)
    brief_at = models.TimeField(default=time(6, 30))
    edited_at = models.DateTimeField(null=True, blank=True, editable=False)
    replan_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["property"]
        verbose_name_plural = "planning preferences"
        indexes = [
            models.Index(
                fields=["replan_at"], condition=Q(replan_at__isnull=False), name="replan_due"
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["property"],
                name="planning_preferences_once_per_property",
                violation_error_message="The house has its preferences already; change those.",
            ),
            models.CheckConstraint(
                condition=Q(replan_delay_minutes__range=(1, MOST_DELAY_MINUTES)),
                name="planning_preferences_delay_possible",
                violation_error_message="Wait 1 minute to a day (1440 minutes) after an edit.",
            ),
        ]

    def __str__(self) -> str:
        return f"planning preferences of {self.property}"


class Brief(models.Model):
    """A morning brief that was sent. One row of a house and day: it is never sent twice."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="+")
    on = models.DateField()
    sent_at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["property", "on"], name="brief_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"brief of {self.property} on {self.on}"


class MeasureReminder(Record):
    """A reminder that a temporary measure was not looked at in time. One for each look missed."""

    scope_path: ClassVar[str] = "measure__property"

    measure = models.ForeignKey(TemporaryMeasure, models.CASCADE, related_name="+")
    last_seen_at = models.DateTimeField()
    sent_at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["measure", "last_seen_at"], name="measure_reminder_once_a_look"
            ),
        ]

    def __str__(self) -> str:
        return f"reminder of {self.measure}"
