"""What the job wants of timber, and what can be bought."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from apps.floors.models import Floor, Joist
from apps.property.models import Property
from apps.timber.models.pieces import LONGEST_MM, choices, possible_section
from apps.timber.pieces_as_data import Role
from apps.work.models import Task
from renovation.models import Record


class Need(Record):
    """Timber that the job wants: so many pieces alike. `state` changes by services only.

    `planned_on` is when the latest plan begins the task it is for; `needed_by` is said by hand
    and goes before it.
    """

    class State(models.TextChoices):
        OPEN = "open"
        PLANNED = "planned"
        MET = "met"
        DROPPED = "dropped"

    property = models.ForeignKey(Property, models.CASCADE, related_name="timber_needs")
    role = models.CharField(max_length=8, choices=choices(Role))
    title = models.CharField(max_length=120)
    quantity = models.PositiveIntegerField(default=1)
    length_mm = models.PositiveIntegerField()
    length_rule = models.CharField(max_length=200, blank=True)
    breadth_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    strength_class = models.CharField(max_length=8, blank=True)
    moisture_limit_pct = models.FloatField(default=20, null=True, blank=True)
    treated = models.BooleanField(default=False)
    priority = models.PositiveSmallIntegerField(default=5)
    needed_by = models.DateField(null=True, blank=True)
    planned_on = models.DateField(null=True, blank=True, editable=False)
    task = models.ForeignKey(
        Task, models.PROTECT, related_name="timber_needs", null=True, blank=True
    )
    joist = models.ForeignKey(
        Joist, models.PROTECT, related_name="timber_needs", null=True, blank=True
    )
    floor = models.ForeignKey(
        Floor, models.PROTECT, related_name="timber_needs", null=True, blank=True
    )
    state = models.CharField(max_length=7, choices=State, default=State.OPEN, editable=False)
    state_reason = models.CharField(max_length=200, blank=True, editable=False)

    class Meta:
        ordering = ["property", "priority", "pk"]
        verbose_name = "timber need"
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="need_has_title",
                violation_error_message="Say what the timber is for.",
            ),
            possible_section("need_section_is_possible"),
            models.CheckConstraint(
                condition=Q(length_mm__range=(20, LONGEST_MM)),
                name="need_length_is_possible",
                violation_error_message="A need is 20 to 20,000 mm long, in millimetres.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__range=(1, 1000)),
                name="need_quantity_is_possible",
                violation_error_message="A need is for 1 to 1000 pieces alike.",
            ),
            models.CheckConstraint(
                condition=Q(priority__range=(1, 9)),
                name="need_priority_in_range",
                violation_error_message="Priority is 1 (first) to 9.",
            ),
            models.CheckConstraint(
                condition=Q(moisture_limit_pct__isnull=True)
                | Q(moisture_limit_pct__range=(5, 100)),
                name="need_moisture_limit_is_possible",
                violation_error_message="A moisture limit is 5 to 100 per cent; null: any.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        if self.joist is not None and self.floor_id not in {None, self.joist.floor_id}:
            raise ValidationError({"joist": f"{self.joist} is not a joist of {self.floor}."})

    def wanted_on(self) -> date | None:
        """The day the work wants it: as said, else as planned."""
        return self.needed_by or self.planned_on


class StockLength(Record):
    """A section sold in a length, with its price by the length or by the metre."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="stock_lengths")
    supplier = models.CharField(max_length=120, blank=True)
    breadth_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    strength_class = models.CharField(max_length=8, blank=True)
    treated = models.BooleanField(default=False)
    price_pence_per_length = models.PositiveIntegerField(null=True, blank=True)
    price_pence_per_m = models.PositiveIntegerField(null=True, blank=True)
    available = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["property", "depth_mm", "breadth_mm", "length_mm", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=[
                    "property", "supplier", "breadth_mm", "depth_mm", "strength_class", "treated",
                    "length_mm",
                ],
                name="stock_length_once",
                violation_error_message="This length of this section is listed already.",
            ),
            possible_section("stock_section_is_possible"),
            models.CheckConstraint(
                condition=Q(length_mm__range=(300, LONGEST_MM)),
                name="stock_length_is_possible",
                violation_error_message="A stock length is 300 to 20,000 mm, in millimetres.",
            ),
            models.CheckConstraint(
                condition=Q(price_pence_per_length__isnull=False, price_pence_per_m__isnull=True)
                | Q(price_pence_per_length__isnull=True, price_pence_per_m__isnull=False),
                name="stock_has_one_price",
                violation_error_message="Give its price by the length or by the metre, not both.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(price_pence_per_length__isnull=True)
                    | Q(price_pence_per_length__lte=10_000_000)
                )
                & (Q(price_pence_per_m__isnull=True) | Q(price_pence_per_m__lte=10_000_000)),
                name="stock_price_is_possible",
                violation_error_message="A price is at most 10,000,000 pence (or cents).",
            ),
            models.CheckConstraint(
                condition=Q(available__isnull=True) | Q(available__lte=10_000),
                name="stock_available_is_possible",
                violation_error_message="At most 10,000 are to be had; null: as many as wanted.",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.breadth_mm} × {self.depth_mm} × {self.length_mm} mm"

    def cost_pence(self) -> int:
        """What one length costs; half a penny is rounded up."""
        if self.price_pence_per_length is not None:
            return self.price_pence_per_length
        return ((self.price_pence_per_m or 0) * self.length_mm + 500) // 1000
