"""Who works when, and the plans that were made of it."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from apps.inspections.models import Inspection
from apps.planning.feeds.models import CalendarFeed, FeedEntry
from apps.planning.routine.models import Brief, MeasureReminder, PlanningPreferences
from apps.property.models import Property
from apps.trades.models import Visit
from apps.work.models import Task
from renovation.jobs import Job
from renovation.models import Record

__all__ = [
    "LONGEST_HORIZON_DAYS", "UNFINISHED", "Brief", "CalendarFeed", "FeedEntry", "MeasureReminder",
    "Person", "Plan", "PlanningPreferences", "Stint", "WorkingTime", "WorkingTimeException",
]  # fmt: skip
LONGEST_HORIZON_DAYS = 400
UNFINISHED = ("queued", "solving")


class Person(Record):
    """The crew's one member, or a helper who comes now and then."""

    class Role(models.TextChoices):
        CREW = "crew"
        HELPER = "helper"

    property = models.ForeignKey(Property, models.CASCADE, related_name="people")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=6, choices=Role, default=Role.CREW)
    phone = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["property", "role", "name"]
        verbose_name_plural = "people"
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                name="person_name_once_per_property",
                violation_error_message="There is a person of this name already.",
            ),
            models.UniqueConstraint(
                fields=["property"],
                condition=Q(role="crew"),
                name="person_one_crew",
                violation_error_message="The house has its one-person crew already.",
            ),
            models.CheckConstraint(
                condition=~Q(name=""),
                name="person_has_name",
                violation_error_message="Give the person a name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class WorkingTime(Record):
    """One stretch of a person's usual week."""

    scope_path: ClassVar[str] = "person__property"

    person = models.ForeignKey(Person, models.CASCADE, related_name="working_times")
    weekday = models.PositiveSmallIntegerField(help_text="Monday = 0.")
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering = ["person", "weekday", "starts"]
        constraints = [
            models.CheckConstraint(
                condition=Q(weekday__lte=6),
                name="working_time_weekday_known",
                violation_error_message="Weekdays are 0 (Monday) to 6 (Sunday).",
            ),
            models.CheckConstraint(
                condition=Q(starts__lt=F("ends")),
                name="working_time_ends_after_start",
                violation_error_message="It ends after it starts, on the same day.",
            ),
            models.UniqueConstraint(
                fields=["person", "weekday", "starts"],
                name="working_time_once",
                violation_error_message="There is a stretch starting then already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.weekday} {self.starts:%H:%M}–{self.ends:%H:%M}"


class WorkingTimeException(Record):
    """One date on which a person works other hours, or (without hours) not at all."""

    scope_path: ClassVar[str] = "person__property"

    person = models.ForeignKey(Person, models.CASCADE, related_name="exceptions")
    date = models.DateField()
    starts = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["person", "date", "starts"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts__isnull=True, ends__isnull=True) | Q(starts__lt=F("ends")),
                name="working_time_exception_in_order",
                violation_error_message="Give both hours, in order, or neither for a day off.",
            ),
            models.UniqueConstraint(
                fields=["person", "date", "starts"],
                name="working_time_exception_once",
                violation_error_message="There is an exception for this already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.date}"


class Plan(Job):
    """One answer of the planner, asked for by somebody or by itself (`because`)."""

    class State(models.TextChoices):
        QUEUED = "queued"
        SOLVING = "solving"
        READY = "ready"
        FAILED = "failed"
        CANCELLED = "cancelled"
        SUPERSEDED = "superseded"

    class Because(models.TextChoices):
        ASKED = "asked"
        NIGHT = "night"
        EDITS = "edits"

    property = models.ForeignKey(Property, models.CASCADE, related_name="plans")
    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    because = models.CharField(max_length=5, choices=Because, default=Because.ASKED)
    night_of = models.DateField(
        null=True, blank=True, editable=False, help_text="The day that a nightly plan begins."
    )
    superseded_by = models.ForeignKey(
        "self", models.SET_NULL, related_name="+", null=True, blank=True
    )
    as_of = models.DateTimeField()
    horizon_days = models.PositiveIntegerField(default=28)
    seconds = models.FloatField(default=5.0)
    quick = models.BooleanField(default=False)
    what_if = models.JSONField(null=True, blank=True)
    is_current = models.BooleanField(default=False)
    objective = models.JSONField(default=list)
    proven = models.BooleanField(default=False)
    gap = models.FloatField(null=True, blank=True)
    first_plan_seconds = models.FloatField(null=True, blank=True)
    solve_seconds = models.FloatField(null=True, blank=True)
    unplaced = models.JSONField(default=list)
    unready = models.JSONField(default=list)
    contradictions = models.JSONField(default=list)
    alerts = models.JSONField(default=list)
    changes = models.JSONField(default=list)
    moved = models.JSONField(null=True, blank=True)
    inputs = models.JSONField(default=dict)
    supposed_stints = models.JSONField(default=list)
    odds = models.JSONField(null=True, blank=True)
    failure = models.TextField(blank=True)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    requested_at = models.DateTimeField(db_default=Now())
    solved_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(
                fields=["property"], condition=Q(state__in=UNFINISHED), name="plan_unfinished"
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["property"], condition=Q(is_current=True), name="plan_one_current"
            ),
            models.UniqueConstraint(
                fields=["property"], condition=Q(state="solving"), name="plan_one_at_work"
            ),
            models.UniqueConstraint(fields=["property", "night_of"], name="plan_once_a_night"),
            models.CheckConstraint(
                condition=Q(horizon_days__range=(1, LONGEST_HORIZON_DAYS)),
                name="plan_horizon_possible",
                violation_error_message="A plan looks 1 to 400 days ahead.",
            ),
            models.CheckConstraint(
                condition=Q(seconds__gt=0, seconds__lte=120),
                name="plan_seconds_possible",
                violation_error_message="Give the planner more than 0 and at most 120 seconds.",
            ),
            models.CheckConstraint(
                condition=Q(is_current=False) | Q(state="ready"),
                name="plan_current_is_ready",
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.pk} ({self.state})"


class Stint(Record):
    """One unbroken stretch of work in a plan, and why it is not sooner."""

    scope_path: ClassVar[str] = "plan__property"

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="stints")
    task = models.ForeignKey(Task, models.CASCADE, related_name="stints", null=True, blank=True)
    visit = models.ForeignKey(Visit, models.CASCADE, related_name="stints", null=True, blank=True)
    inspection = models.ForeignKey(
        Inspection, models.CASCADE, related_name="stints", null=True, blank=True
    )
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    why_not_sooner = models.JSONField()
    firm = models.BooleanField(
        default=True, help_text="False: far ahead, to the half-day; it firms up as it comes near."
    )

    class Meta:
        ordering = ["plan", "starts", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts__lt=F("ends")), name="stint_ends_after_start"
            ),
            models.CheckConstraint(
                condition=(
                    Q(task__isnull=False, visit__isnull=True, inspection__isnull=True)
                    | Q(task__isnull=True, visit__isnull=False, inspection__isnull=True)
                    | Q(task__isnull=True, visit__isnull=True, inspection__isnull=False)
                ),
                name="stint_is_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.task or self.visit or self.inspection} {self.starts:%a %d %b %H:%M}"
