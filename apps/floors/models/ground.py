"""What was measured of a floor: its air bricks, the probes along its joists, its levels."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from apps.checks.ventilation_void import WALL_REACH_MM, distance
from apps.floors.models.floors import Floor, Joist
from apps.property.fields import PointField
from renovation.models import Record


class AirBrick(Record):
    """An opening through a wall into the void under a floor."""

    scope_path: ClassVar[str] = "floor__property"

    class State(models.TextChoices):
        OPEN = "open"
        BLOCKED = "blocked"
        COVERED = "covered"

    floor = models.ForeignKey(Floor, models.CASCADE, related_name="air_bricks")
    mark = models.CharField(max_length=12, blank=True)
    at = PointField(help_text="[x, y] in mm, at a wall of the floor.")
    free_area_mm2 = models.PositiveIntegerField(
        help_text="What it gives when open and clean: the figure marked on the grille."
    )
    state = models.CharField(max_length=7, choices=State, default=State.OPEN)
    through_solid = models.BooleanField(
        default=False, help_text="A pipe leads its air through solid floor or infill."
    )
    above_ground_mm = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["floor", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["floor", "mark"],
                condition=~Q(mark=""),
                name="air_brick_mark_once_per_floor",
                violation_error_message="There is an air brick of this mark on the floor already.",
            ),
            models.CheckConstraint(
                condition=Q(free_area_mm2__range=(1, 1_000_000)),
                name="air_brick_has_free_area",
                violation_error_message="Free area is 1 to 1 000 000 mm²: see the grille's mark.",
            ),
            models.CheckConstraint(
                condition=Q(above_ground_mm__isnull=True) | Q(above_ground_mm__lte=10_000),
                name="air_brick_height_is_possible",
                violation_error_message="An air brick is 0 to 10 000 mm above the ground.",
            ),
        ]

    def __str__(self) -> str:
        return self.mark or f"the air brick at {self.at[0]}, {self.at[1]} mm"

    def clean(self) -> None:
        """An air brick lies at a wall of its floor; a rule over two rows."""
        corners = [(x, y) for x, y in self.floor.outline]
        at = (self.at[0], self.at[1])
        if min(distance(at, wall) for wall in pairwise(corners)) > WALL_REACH_MM:
            raise ValidationError(
                {"at": f"An air brick lies within {WALL_REACH_MM} mm of a wall of its floor."}
            )


class JoistProbe(Record):
    """One look at one place of a joist: a bradawl's depth, moisture, the fixing drawn there."""

    scope_path: ClassVar[str] = "joist__floor__property"

    class Face(models.TextChoices):
        TOP = "top"
        BOTTOM = "bottom"
        LEFT = "left"
        RIGHT = "right"
        END = "end"

    class Fixing(models.TextChoices):
        NONE = "none"
        CLEAN = "clean"
        STAINED = "stained"
        WASTED = "wasted"

    joist = models.ForeignKey(Joist, models.CASCADE, related_name="probes")
    at_mm = models.PositiveIntegerField(help_text="Along the joist's line from its first point.")
    face = models.CharField(max_length=6, choices=Face, default=Face.TOP)
    probe_mm = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="How far a bradawl went in by hand; null: none was pushed."
    )
    moisture_pct = models.FloatField(null=True, blank=True)
    fixing = models.CharField(
        max_length=7, choices=Fixing, default=Fixing.NONE, help_text="The nail or screw drawn here."
    )
    note = models.TextField(blank=True)
    probed_at = models.DateTimeField()

    class Meta:
        ordering = ["joist", "at_mm", "probed_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(probe_mm__isnull=False)
                | Q(moisture_pct__isnull=False)
                | ~Q(fixing="none"),
                name="joist_probe_tells_something",
                violation_error_message="Give the depth, the moisture or the fixing.",
            ),
            models.CheckConstraint(
                condition=Q(probe_mm__isnull=True) | Q(probe_mm__lte=600),
                name="joist_probe_depth_is_possible",
                violation_error_message="A bradawl goes 0 to 600 mm in.",
            ),
            models.CheckConstraint(
                condition=Q(moisture_pct__isnull=True) | Q(moisture_pct__range=(0, 300)),
                name="joist_probe_moisture_is_possible",
                violation_error_message="Moisture is 0 to 300 per cent of the dry weight.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.joist} at {self.at_mm} mm"

    def clean(self) -> None:
        """A probe is on its joist; a rule over two rows."""
        refuse_off_joist(self.joist, self.at_mm)


class SpotHeight(Record):
    """A height to a datum, read with a laser or a water level: on a joist, or at a place."""

    scope_path: ClassVar[str] = "floor__property"

    floor = models.ForeignKey(Floor, models.CASCADE, related_name="spot_heights")
    joist = models.ForeignKey(
        Joist, models.CASCADE, related_name="spot_heights", null=True, blank=True
    )
    at_mm = models.PositiveIntegerField(
        null=True, blank=True, help_text="Along the joist's line from its first point."
    )
    bearing = models.CharField(
        max_length=40, blank=True, help_text="Name of the bearing it is over; there it is packed."
    )
    point = PointField(null=True, blank=True, help_text="[x, y] in mm, for a place off the joists.")
    height_mm = models.DecimalField(max_digits=7, decimal_places=1)
    datum = models.CharField(max_length=40, default="datum")
    measured_at = models.DateTimeField()

    class Meta:
        ordering = ["floor", "joist", "at_mm", "measured_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(joist__isnull=False, at_mm__isnull=False, point__isnull=True)
                | Q(joist__isnull=True, at_mm__isnull=True, point__isnull=False, bearing=""),
                name="spot_height_on_a_joist_or_at_a_place",
                violation_error_message="Give joist and at_mm, or a point without a bearing.",
            ),
            models.CheckConstraint(
                condition=Q(height_mm__range=(-20_000, 20_000)),
                name="spot_height_is_possible",
                violation_error_message="A height is within 20 m of the datum.",
            ),
            models.CheckConstraint(
                condition=~Q(datum=""),
                name="spot_height_has_datum",
                violation_error_message="Say what the height is measured from.",
            ),
        ]

    def __str__(self) -> str:
        where = self.bearing or (f"{self.at_mm} mm" if self.joist_id else "a place")
        return f"{self.joist or self.floor} at {where}"

    def clean(self) -> None:
        """A spot is on its joist, and the joist on its floor; rules over several rows."""
        if self.joist is None or self.at_mm is None:
            return
        if self.joist.floor_id != self.floor_id:
            raise ValidationError({"joist": "This joist is of another floor."})
        refuse_off_joist(self.joist, self.at_mm)


def refuse_off_joist(joist: Joist, at_mm: int) -> None:
    """Raises ValidationError: beyond the end of the joist's line."""
    start, end = joist.line
    length = round(dist(start, end))
    if at_mm > length:
        raise ValidationError({"at_mm": f"{joist} is {length} mm long."})
