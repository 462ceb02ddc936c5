"""The work: packages of tasks, the order between them, what it took, what it waits for."""

from __future__ import annotations

import math
from datetime import time
from typing import Any, ClassVar

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from apps.floors.models import Floor, Joist
from apps.property.fields import OutlineField, PolylineField, closed_outline
from apps.property.models import Property, Room
from apps.work import places
from apps.work.validators import weekdays
from renovation.models import Record

LONGEST_TASK_MINUTES = 60_000


class WorkPackage(Record):
    """A part of the job that belongs together, such as the back parlour's floor."""

    class Kind(models.TextChoices):
        DEMOLITION = "demolition"
        STRUCTURE = "structure"
        FLOOR = "floor"
        DAMP = "damp"
        FIRST_FIX = "first_fix"
        INSULATION = "insulation"
        PLASTER = "plaster"
        SECOND_FIX = "second_fix"
        FINISHES = "finishes"
        MAKING_GOOD = "making_good"

    property = models.ForeignKey(Property, models.CASCADE, related_name="work_packages")
    title = models.CharField(max_length=120)
    kind = models.CharField(max_length=11, choices=Kind)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="work_package_has_title",
                violation_error_message="Give the package a title.",
            )
        ]

    def __str__(self) -> str:
        return self.title


class Tool(Record):
    """A tool of which there are only so many, such as the jack or the floor clamp."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="tools")
    name = models.CharField(max_length=60)
    quantity = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["property", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                name="tool_name_once_per_property",
                violation_error_message="There is a tool of this name already.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__range=(1, 1000)),
                name="tool_quantity_is_positive",
                violation_error_message="There is at least one of it (and at most 1000).",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Trade(Record):
    """A craft and who does it.

    Kept here, below the app `trades`, because a task names the trade that does it.
    """

    class Craft(models.TextChoices):
        PLUMBER = "plumber"
        ELECTRICIAN = "electrician"
        GAS = "gas"
        PLASTERER = "plasterer"
        CARPENTER = "carpenter"
        BRICKLAYER = "bricklayer"
        ROOFER = "roofer"
        OTHER = "other"

    property = models.ForeignKey(Property, models.CASCADE, related_name="trades")
    craft = models.CharField(max_length=11, choices=Craft)
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    days = models.JSONField(
        default=list, blank=True, validators=[weekdays],
        help_text="Weekdays they come, Monday = 0; empty: Monday to Friday.",
    )  # fmt: skip
    from_time = models.TimeField(default=time(8))
    to_time = models.TimeField(default=time(17))
    notice_days = models.PositiveSmallIntegerField(
        default=0, help_text="How many days ahead they need to be asked."
    )

    class Meta:
        ordering = ["property", "craft", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(from_time__lt=F("to_time")),
                name="trade_hours_in_order",
                violation_error_message="Their day ends after it begins.",
            ),
            models.CheckConstraint(
                condition=~Q(name=""),
                name="trade_has_name",
                violation_error_message="Say who they are.",
            ),
            models.CheckConstraint(
                condition=Q(notice_days__lte=366),
                name="trade_notice_is_within_a_year",
                violation_error_message="Notice is at most 366 days.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Task(Record):
    """Something to be done, by the crew or (with `trade`) by a trade during its visit.

    Where it touches the floor, `floor_action` says how and `area` or `route` with
    `clearance_mm` says where; from that the boards and the order follow.
    """

    scope_path: ClassVar[str] = "package__property"

    class Status(models.TextChoices):
        TO_DO = "to_do"
        DOING = "doing"
        DONE = "done"
        DROPPED = "dropped"

    class FloorAction(models.TextChoices):
        NONE = "none"
        LIFT = "lift"
        WORK_OPEN = "work_open"
        FIX = "fix"
        STAND_ON = "stand_on"

    package = models.ForeignKey(WorkPackage, models.CASCADE, related_name="tasks")
    title = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    room = models.ForeignKey(Room, models.PROTECT, related_name="tasks", null=True, blank=True)
    floor = models.ForeignKey(Floor, models.PROTECT, related_name="tasks", null=True, blank=True)
    trade = models.ForeignKey(Trade, models.PROTECT, related_name="tasks", null=True, blank=True)
    low_minutes = models.PositiveIntegerField()
    likely_minutes = models.PositiveIntegerField()
    high_minutes = models.PositiveIntegerField()
    people = models.PositiveSmallIntegerField(default=1)
    splittable = models.BooleanField(default=True)
    shortest_stint_minutes = models.PositiveIntegerField(default=30)
    set_up_minutes = models.PositiveIntegerField(default=0)
    clear_up_minutes = models.PositiveIntegerField(default=0)
    loud = models.BooleanField(default=False)
    outdoors = models.BooleanField(default=False)
    tools = models.ManyToManyField(Tool, related_name="tasks", blank=True)
    earliest_start = models.DateTimeField(null=True, blank=True)
    due = models.DateTimeField(null=True, blank=True)
    due_weight = models.PositiveSmallIntegerField(default=1)
    status = models.CharField(max_length=7, choices=Status, default=Status.TO_DO)
    floor_action = models.CharField(max_length=9, choices=FloorAction, default=FloorAction.NONE)
    area = OutlineField(null=True, blank=True)
    route = PolylineField(null=True, blank=True)
    clearance_mm = models.PositiveIntegerField(default=150)
    minutes_left = models.PositiveIntegerField(
        null=True, blank=True, editable=False,
        help_text="What was last said to be left of it; null: the likely minutes less those noted.",
    )  # fmt: skip
    minutes_left_at = models.DateTimeField(null=True, blank=True, editable=False)
    minutes_left_note = models.CharField(max_length=200, blank=True, editable=False)
    started_at = models.DateTimeField(null=True, blank=True, editable=False)
    clock_from = models.DateTimeField(
        null=True, blank=True, editable=False,
        help_text="Since when somebody has been at it; null: nobody is at it now.",
    )  # fmt: skip
    finished_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["package", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="task_has_title",
                violation_error_message="Give the task a title.",
            ),
            models.CheckConstraint(
                condition=Q(
                    low_minutes__gt=0,
                    low_minutes__lte=F("likely_minutes"),
                    likely_minutes__lte=F("high_minutes"),
                    high_minutes__lte=LONGEST_TASK_MINUTES,
                ),
                name="task_minutes_in_order",
                violation_error_message=(
                    "The minutes go low, likely, high: more than 0, each no less than the one "
                    "before, at most 1000 hours."
                ),
            ),
            models.CheckConstraint(
                condition=Q(
                    shortest_stint_minutes__range=(1, 1440),
                    set_up_minutes__lte=480,
                    clear_up_minutes__lte=480,
                ),
                name="task_stint_minutes_possible",
                violation_error_message=(
                    "A shortest stint is 1 to 1440 minutes; set-up and clear-up at most 480."
                ),
            ),
            models.CheckConstraint(
                condition=Q(people__range=(1, 10)),
                name="task_people_positive",
                violation_error_message="A task takes 1 to 10 people.",
            ),
            models.CheckConstraint(
                condition=Q(due_weight__range=(1, 100)),
                name="task_due_weight_in_range",
                violation_error_message="A due date weighs 1 to 100.",
            ),
            models.CheckConstraint(
                condition=Q(due__isnull=True)
                | Q(earliest_start__isnull=True)
                | Q(due__gt=F("earliest_start")),
                name="task_due_after_earliest_start",
                violation_error_message="It is due after it may start.",
            ),
            models.CheckConstraint(
                condition=Q(floor_action="none")
                | Q(floor__isnull=False, area__isnull=False)
                | Q(floor__isnull=False, route__isnull=False),
                name="task_floor_action_says_where",
                violation_error_message="Say which floor, and where on it: an area or a route.",
            ),
            models.CheckConstraint(
                condition=Q(area__isnull=True) | Q(route__isnull=True),
                name="task_area_or_route",
                violation_error_message="Give an area or a route, not both.",
            ),
            models.CheckConstraint(
                condition=Q(clearance_mm__lte=2000),
                name="task_clearance_possible",
                violation_error_message="Clearance is at most 2000 mm.",
            ),
            models.CheckConstraint(
                condition=Q(status="done", finished_at__isnull=False)
                | (~Q(status="done") & Q(finished_at__isnull=True)),
                name="task_done_says_when",
                violation_error_message="A finished task says when it was finished.",
            ),
            models.CheckConstraint(
                condition=Q(started_at__isnull=True)
                | Q(finished_at__isnull=True)
                | Q(finished_at__gte=F("started_at")),
                name="task_finished_after_it_started",
                violation_error_message="A task is finished after it was started.",
            ),
            models.CheckConstraint(
                condition=Q(clock_from__isnull=True) | Q(status="doing"),
                name="task_on_the_clock_is_being_done",
                violation_error_message="Only a task that is being done is on the clock.",
            ),
            models.CheckConstraint(
                condition=Q(minutes_left__isnull=True, minutes_left_at__isnull=True)
                | Q(
                    minutes_left__range=(1, LONGEST_TASK_MINUTES),
                    minutes_left_at__isnull=False,
                ),
                name="task_minutes_left_say_when",
                violation_error_message=(
                    "What is left is 1 minute to 1000 hours, and says when that was."
                ),
            ),
            closed_outline("area", "task_area_is_closed", optional=True),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        refuse_off_the_floor(self.floor, area=self.area, route=self.route)


def refuse_off_the_floor(floor: Floor | None, **place: Any) -> None:
    """Refuse an area or a route that its floor does not have. For `clean()`.

    Raises:
        ValidationError: at the field that says where.
    """
    for what, points in place.items():
        if floor is not None and points:
            why = places.why_not_on_floor(points, floor.outline, what=what, floor=str(floor))
            if why:
                raise ValidationError({what: why})


class Link(Record):
    """An order between two tasks, with a shortest and perhaps a longest wait."""

    scope_path: ClassVar[str] = "before__package__property"

    class Kind(models.TextChoices):
        FS = "FS", "finish to start"
        SS = "SS", "start to start"
        FF = "FF", "finish to finish"
        SF = "SF", "start to finish"

    class Clock(models.TextChoices):
        ELAPSED = "elapsed"
        WORKING = "working"

    before = models.ForeignKey(Task, models.CASCADE, related_name="links_after")
    after = models.ForeignKey(Task, models.CASCADE, related_name="links_before")
    kind = models.CharField(max_length=2, choices=Kind, default=Kind.FS)
    min_lag_minutes = models.PositiveIntegerField(default=0)
    max_lag_minutes = models.PositiveIntegerField(null=True, blank=True)
    lag_clock = models.CharField(max_length=7, choices=Clock, default=Clock.ELAPSED)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(before=F("after")),
                name="link_joins_two_tasks",
                violation_error_message="A task cannot wait for itself.",
            ),
            models.UniqueConstraint(
                fields=["before", "after", "kind"],
                name="link_once_per_pair_and_kind",
                violation_error_message="These two tasks are linked this way already.",
            ),
            models.CheckConstraint(
                condition=Q(max_lag_minutes__isnull=True)
                | Q(max_lag_minutes__gte=F("min_lag_minutes")),
                name="link_lags_in_order",
                violation_error_message="The longest wait is no shorter than the shortest.",
            ),
            models.CheckConstraint(
                condition=Q(min_lag_minutes__lte=1_000_000),
                name="link_lag_within_two_years",
                violation_error_message="A wait is at most 1,000,000 minutes.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.before} → {self.after}"


class TimeEntry(Record):
    """Time spent on a task, by whom. Append-only: a slip is put right by another entry."""

    scope_path: ClassVar[str] = "task__package__property"

    task = models.ForeignKey(Task, models.PROTECT, related_name="time_entries")
    starts = models.DateTimeField()
    minutes = models.IntegerField(help_text="Negative takes back what was noted by mistake.")
    note = models.CharField(max_length=200, blank=True)
    takes_back = models.OneToOneField(
        "self", models.PROTECT, related_name="taken_back_by", null=True, blank=True, editable=False,
        help_text="The entry that this one takes back, whole.",
    )  # fmt: skip
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-starts", "-pk"]
        verbose_name_plural = "time entries"
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__range=(-1440, 1440)) & ~Q(minutes=0),
                name="time_entry_within_a_day",
                violation_error_message="An entry is up to 1440 minutes, and not 0.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.minutes} min on {self.task}"


class Supply(Record):
    """Something bought or hired that tasks wait for."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="supplies")
    title = models.CharField(max_length=120)
    supplier = models.CharField(max_length=120, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    expected_at = models.TimeField(default=time(12))
    arrived_at = models.DateTimeField(null=True, blank=True)
    tasks = models.ManyToManyField(Task, related_name="supplies", blank=True)

    class Meta:
        ordering = ["property", "expected_on", "pk"]
        verbose_name_plural = "supplies"
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="supply_has_title",
                violation_error_message="Say what is to come.",
            )
        ]

    def __str__(self) -> str:
        return self.title


class Finding(Record):
    """Something the house showed when it was opened, and what was decided.

    On a joist it says where along its line; the joist says on which floor.
    """

    class Kind(models.TextChoices):
        DECAY = "decay"
        DAMP = "damp"
        INSECT = "insect"
        BLOCKED_VENT = "blocked_vent"
        LEVELS = "levels"
        ASBESTOS_SUSPECTED = "asbestos_suspected"
        ELECTRICAL = "electrical"
        GAS = "gas"
        OTHER = "other"

    property = models.ForeignKey(Property, models.CASCADE, related_name="findings")
    kind = models.CharField(max_length=18, choices=Kind)
    title = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    room = models.ForeignKey(Room, models.PROTECT, related_name="findings", null=True, blank=True)
    floor = models.ForeignKey(Floor, models.PROTECT, related_name="findings", null=True, blank=True)
    joist = models.ForeignKey(Joist, models.PROTECT, related_name="findings", null=True, blank=True)
    at_mm = models.PositiveIntegerField(
        null=True, blank=True, help_text="Where along the joist's line, from its first point [mm]."
    )
    found_at = models.DateTimeField()
    decision = models.TextField(blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["property", "-found_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="finding_has_title",
                violation_error_message="Say what was found.",
            ),
            models.CheckConstraint(
                condition=Q(decided_at__isnull=True) | ~Q(decision=""),
                name="finding_decided_says_what",
                violation_error_message="Say what was decided.",
            ),
            models.CheckConstraint(
                condition=Q(at_mm__isnull=True) | Q(joist__isnull=False),
                name="finding_at_is_along_a_joist",
                violation_error_message="Say along which joist.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        if self.joist is None:
            return
        if self.floor_id not in {None, self.joist.floor_id}:
            raise ValidationError({"joist": f"{self.joist} is not a joist of {self.floor}."})
        long_mm = round(math.dist(*self.joist.line))
        if self.at_mm is not None and self.at_mm > long_mm:
            raise ValidationError(
                {"at_mm": f"{self.joist} is {long_mm} mm long; this is beyond its end."}
            )
