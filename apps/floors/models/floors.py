"""A floor structure: its joists, its boards, and the log of every board that was moved."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from apps.floors import stretches
from apps.property.fields import OutlineField, PolylineField, closed_outline
from apps.property.models import Property, Storey
from renovation.models import Record


class Floor(Record):
    """One floor structure on a storey. It may run under several rooms."""

    class Construction(models.TextChoices):
        SUSPENDED_TIMBER = "suspended_timber"
        SOLID = "solid"

    class Edge(models.TextChoices):
        SQUARE = "square"
        TONGUED = "tongued"

    property = models.ForeignKey(Property, models.CASCADE, related_name="floors")
    storey = models.ForeignKey(Storey, models.PROTECT, related_name="floors")
    name = models.CharField(max_length=60)
    outline = OutlineField(help_text="[[x, y], …] in mm, where the structure reaches.")
    construction = models.CharField(
        max_length=16, choices=Construction, default=Construction.SUSPENDED_TIMBER
    )
    boards_run_deg = models.PositiveSmallIntegerField(
        default=0, help_text="Which way the boards run: 0 along x, 90 along y."
    )
    board_cover_width_mm = models.PositiveIntegerField(default=150)
    board_thickness_mm = models.PositiveIntegerField(default=21)
    board_edge = models.CharField(max_length=7, choices=Edge, default=Edge.SQUARE)
    joist_centres_mm = models.PositiveIntegerField(default=400)
    joist_breadth_mm = models.PositiveIntegerField(default=50)
    joist_depth_mm = models.PositiveIntegerField(default=150)
    strength_class = models.CharField(
        max_length=8, blank=True, help_text="EN 338 class as assumed, e.g. C16; empty: not known."
    )
    void_depth_mm = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["property", "storey", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                name="floor_name_once_per_property",
                violation_error_message="There is a floor of this name already.",
            ),
            closed_outline("outline", "floor_outline_is_closed"),
            models.CheckConstraint(
                condition=Q(boards_run_deg__range=(0, 179)),
                name="floor_boards_run_within_half_a_turn",
                violation_error_message="The boards' direction is 0 to 179 degrees.",
            ),
            models.CheckConstraint(
                condition=Q(
                    board_cover_width_mm__range=(30, 1200),
                    board_thickness_mm__range=(6, 100),
                    joist_breadth_mm__range=(20, 300),
                    joist_depth_mm__range=(40, 600),
                    joist_centres_mm__range=(100, 2000),
                    void_depth_mm__lte=10_000,
                    joist_centres_mm__gt=F("joist_breadth_mm"),
                ),
                name="floor_sizes_are_possible",
                violation_error_message=(
                    "A size is out of range: boards 30–1200 mm wide and 6–100 mm thick; joists "
                    "20–300 by 40–600 mm at 100–2000 mm centres wider than the joist."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Joist(Record):
    """One joist, by its centre line from bearing to bearing."""

    scope_path: ClassVar[str] = "floor__property"

    class Condition(models.TextChoices):
        SOUND = "sound"
        SUSPECT = "suspect"
        DECAYED = "decayed"
        NEW = "new"
        MISSING = "missing"

    floor = models.ForeignKey(Floor, models.CASCADE, related_name="joists")
    mark = models.CharField(max_length=12)
    line = PolylineField(exactly=2)
    breadth_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    strength_class = models.CharField(max_length=8, blank=True)
    condition = models.CharField(max_length=7, choices=Condition, default=Condition.SOUND)
    bearings = models.JSONField(default=list, blank=True, validators=[stretches.bearings])
    decayed = models.JSONField(default=list, blank=True, validators=[stretches.stretches])
    cuts = models.JSONField(default=list, blank=True, validators=[stretches.cuts])

    class Meta:
        ordering = ["floor", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["floor", "mark"],
                name="joist_mark_once_per_floor",
                violation_error_message="There is a joist of this mark on the floor already.",
            ),
            models.CheckConstraint(
                condition=Q(breadth_mm__range=(20, 300), depth_mm__range=(40, 600)),
                name="joist_section_is_possible",
                violation_error_message="A joist is 20–300 mm by 40–600 mm.",
            ),
            models.CheckConstraint(
                condition=~Q(mark=""),
                name="joist_has_mark",
                violation_error_message="Give the joist a mark.",
            ),
        ]

    def __str__(self) -> str:
        return self.mark


class Board(Record):
    """One length of floorboard. Its state only changes through a board move."""

    scope_path: ClassVar[str] = "floor__property"

    class State(models.TextChoices):
        FIXED = "fixed"
        LOOSE = "loose"
        UP = "up"
        MISSING = "missing"

    floor = models.ForeignKey(Floor, models.PROTECT, related_name="boards")
    mark = models.CharField(max_length=12)
    course = models.PositiveIntegerField()
    outline = OutlineField()
    state = models.CharField(max_length=7, choices=State, default=State.FIXED)

    class Meta:
        ordering = ["floor", "course", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["floor", "mark"],
                name="board_mark_once_per_floor",
                violation_error_message="There is a board of this mark on the floor already.",
            ),
            closed_outline("outline", "board_outline_is_closed"),
            models.CheckConstraint(
                condition=Q(course__gt=0),
                name="board_course_counts_from_one",
                violation_error_message="Courses count from 1.",
            ),
            models.CheckConstraint(
                condition=~Q(mark=""),
                name="board_has_mark",
                violation_error_message="Give the board a mark.",
            ),
        ]

    def __str__(self) -> str:
        return self.mark


class BoardMove(Record):
    """One entry of the log: some boards of one floor came into a state. Never altered."""

    scope_path: ClassVar[str] = "floor__property"

    floor = models.ForeignKey(Floor, models.PROTECT, related_name="board_moves")
    to_state = models.CharField(max_length=7, choices=Board.State)
    moved_at = models.DateTimeField()
    note = models.TextField(blank=True)
    forced_reason = models.TextField(
        blank=True, help_text="Why held boards were fixed all the same."
    )
    moved_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-moved_at", "-pk"]

    def __str__(self) -> str:
        return f"boards {self.to_state} at {self.moved_at:%Y-%m-%d %H:%M}"


class BoardStay(Record):
    """One board's time in the state that a move brought it to; open until the next move."""

    scope_path: ClassVar[str] = "board__floor__property"

    move = models.ForeignKey(BoardMove, models.PROTECT, related_name="stays")
    board = models.ForeignKey(Board, models.PROTECT, related_name="stays")
    since = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["board", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["board"], condition=Q(until__isnull=True), name="board_stay_one_open"
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="board_stay_ends_after_it_began",
                violation_error_message="A board cannot move before its last move.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.board} {self.move.to_state}"
