"""Outsiders' rhythm: visits, what each needs opened, and what was made safe for a while."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from apps.floors.models import Floor
from apps.inspections.models import Certificate, Inspection
from apps.property.fields import OutlineField, PolylineField, closed_outline
from apps.property.models import Property
from apps.trades.visit_links.models import VisitLink, VisitReply
from apps.work.models import Task, Trade, refuse_off_the_floor
from renovation.models import Record

__all__ = ["AccessNeed", "TemporaryMeasure", "Visit", "VisitLink", "VisitReply"]


class Visit(Record):
    """A trade's coming: wanted in a window, asked for, agreed to the minute, done or missed."""

    class State(models.TextChoices):
        WANTED = "wanted"
        ASKED = "asked"
        AGREED = "agreed"
        DONE = "done"
        MISSED = "missed"

    property = models.ForeignKey(Property, models.CASCADE, related_name="visits")
    trade = models.ForeignKey(Trade, models.PROTECT, related_name="visits")
    title = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=6, choices=State, default=State.WANTED)
    starts = models.DateTimeField(null=True, blank=True)
    ends = models.DateTimeField(null=True, blank=True)
    window_from = models.DateField(null=True, blank=True)
    window_to = models.DateField(null=True, blank=True)
    minutes = models.PositiveIntegerField(default=120)
    tasks = models.ManyToManyField(Task, related_name="visits", blank=True)
    certificates = models.ManyToManyField(Certificate, related_name="visits", blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["property", "starts", "window_from", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts__isnull=True, ends__isnull=True) | Q(starts__lt=F("ends")),
                name="visit_ends_after_it_starts",
                violation_error_message="A visit ends after it starts.",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["agreed", "done"])
                | Q(starts__isnull=False, ends__isnull=False),
                name="visit_agreed_has_times",
                violation_error_message="An agreed visit has a start and an end.",
            ),
            models.CheckConstraint(
                condition=Q(window_from__isnull=True)
                | Q(window_to__isnull=True)
                | Q(window_to__gte=F("window_from")),
                name="visit_window_in_order",
                violation_error_message="The window ends no earlier than it begins.",
            ),
            models.CheckConstraint(
                condition=Q(minutes__range=(15, 1440)),
                name="visit_minutes_possible",
                violation_error_message="A visit takes 15 to 1440 minutes.",
            ),
        ]

    def __str__(self) -> str:
        return self.title or f"{self.trade}'s visit"


class AccessNeed(Record):
    """Who needs what opened, where, for what, and what releases it again."""

    class OpenAs(models.TextChoices):
        UP = "up"
        UNFIXED = "unfixed"

    class Until(models.TextChoices):
        VISIT_DONE = "visit_done"
        TASK_DONE = "task_done"
        SIGNED_OFF = "signed_off"
        DATE = "date"

    property = models.ForeignKey(Property, models.CASCADE, related_name="access_needs")
    floor = models.ForeignKey(Floor, models.PROTECT, related_name="access_needs")
    purpose = models.CharField(max_length=200)
    area = OutlineField(null=True, blank=True)
    route = PolylineField(null=True, blank=True)
    clearance_mm = models.PositiveIntegerField(default=150)
    trade = models.ForeignKey(
        Trade, models.PROTECT, related_name="access_needs", null=True, blank=True
    )
    task = models.ForeignKey(
        Task, models.CASCADE, related_name="access_needs", null=True, blank=True
    )
    inspection = models.ForeignKey(
        Inspection, models.PROTECT, related_name="access_needs", null=True, blank=True
    )
    visit = models.ForeignKey(
        Visit, models.PROTECT, related_name="access_needs", null=True, blank=True
    )
    open_as = models.CharField(max_length=7, choices=OpenAs, default=OpenAs.UP)
    until = models.CharField(max_length=10, choices=Until)
    until_date = models.DateField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True, editable=False)
    release_note = models.TextField(
        blank=True, editable=False,
        help_text="Why someone released it by hand; empty when what `until` names released it.",
    )  # fmt: skip

    class Meta:
        ordering = ["property", "floor", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(purpose=""),
                name="access_need_has_purpose",
                violation_error_message="Say what it is opened for.",
            ),
            models.CheckConstraint(
                condition=Q(area__isnull=False, route__isnull=True)
                | Q(area__isnull=True, route__isnull=False),
                name="access_need_area_or_route",
                violation_error_message="Give an area or a route, one of the two.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(trade__isnull=False, task__isnull=True, inspection__isnull=True)
                    | Q(trade__isnull=True, task__isnull=False, inspection__isnull=True)
                    | Q(trade__isnull=True, task__isnull=True, inspection__isnull=False)
                ),
                name="access_need_for_one",
                violation_error_message="Say who needs it: one trade, task or inspection.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(until="visit_done", visit__isnull=False)
                    | Q(until="task_done", task__isnull=False)
                    | Q(until="signed_off", inspection__isnull=False)
                    | Q(until="date", until_date__isnull=False)
                ),
                name="access_need_release_is_named",
                violation_error_message=(
                    "Say what releases it: until visit_done needs the visit, task_done the task, "
                    "signed_off the inspection, date the date."
                ),
            ),
            models.CheckConstraint(
                condition=Q(clearance_mm__lte=2000),
                name="access_need_clearance_possible",
                violation_error_message="Clearance is at most 2000 mm.",
            ),
            models.CheckConstraint(
                condition=Q(release_note="") | Q(released_at__isnull=False),
                name="access_need_note_is_of_a_release",
                violation_error_message="A need that still holds has no note of its release.",
            ),
            closed_outline("area", "access_need_area_is_closed", optional=True),
        ]

    def __str__(self) -> str:
        return self.purpose

    def clean(self) -> None:
        refuse_off_the_floor(self.floor, area=self.area, route=self.route)
        if self.visit and self.trade and self.visit.trade_id != self.trade_id:
            raise ValidationError({"visit": f"{self.visit} is not a visit of {self.trade}."})


class TemporaryMeasure(Record):
    """Something made safe for a while: it must be looked at, and it must come out again."""

    class Kind(models.TextChoices):
        PROP = "prop"
        ISOLATED_CIRCUIT = "isolated_circuit"
        WATER_OFF = "water_off"
        CAPPED_GAS = "capped_gas"
        OPEN_ENDED_RING = "open_ended_ring"
        COVER = "cover"

    property = models.ForeignKey(Property, models.CASCADE, related_name="temporary_measures")
    kind = models.CharField(max_length=16, choices=Kind)
    where = models.CharField(max_length=200)
    since = models.DateTimeField()
    check_every_hours = models.PositiveIntegerField(null=True, blank=True)
    last_checked_at = models.DateTimeField(null=True, blank=True)
    clear_before_task = models.ForeignKey(
        Task, models.PROTECT, related_name="measures_to_clear", null=True, blank=True
    )
    cleared_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["property", "since", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(where=""),
                name="measure_says_where",
                violation_error_message="Say where it is.",
            ),
            models.CheckConstraint(
                condition=Q(check_every_hours__isnull=True) | Q(check_every_hours__range=(1, 8784)),
                name="measure_check_interval_positive",
                violation_error_message="It is checked every 1 to 8784 hours.",
            ),
            models.CheckConstraint(
                condition=Q(cleared_at__isnull=True) | Q(cleared_at__gte=F("since")),
                name="measure_cleared_after_it_began",
                violation_error_message="It cannot be cleared before it was set up.",
            ),
            models.CheckConstraint(
                condition=Q(last_checked_at__isnull=True) | Q(last_checked_at__gte=F("since")),
                name="measure_checked_after_it_began",
                violation_error_message="It cannot be checked before it was set up.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display().capitalize()}: {self.where}"
