"""The house: who lives and works in it, its storeys, rooms, doorways and the ways that must
stay walkable."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from apps.property import hours, outlines
from apps.property.fields import OutlineField, PointField, PolylineField, closed_outline
from renovation.models import Record

# A doorway is drawn in the middle of a wall, so its ends lie up to half a thick wall away
# from the rooms' inner faces. Common practice, no source: a 1904 party wall is 225 to 340 mm.
DOORWAY_REACH_MM = 350


class Property(Record):
    """A house under renovation.

    `loud_work_hours` and `outdoor_work_hours` are lists of `{weekdays, from, to}` with
    Monday = 0; an empty list means no restriction. Councils publish their own hours.
    """

    scope_path: ClassVar[str] = ""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    built_year = models.PositiveSmallIntegerField(null=True, blank=True)
    timezone = models.CharField(
        max_length=64, default="Europe/London", validators=[hours.known_timezone]
    )
    country = models.CharField(max_length=2, default="GB")
    subdivision = models.CharField(
        max_length=10, blank=True, default="ENG", help_text="Whose bank holidays count, e.g. ENG."
    )
    work_on_bank_holidays = models.BooleanField(
        default=True, help_text="Whether the crew's weekly hours hold on bank holidays too."
    )
    loud_work_hours = models.JSONField(default=list, blank=True, validators=[hours.weekly_hours])
    outdoor_work_hours = models.JSONField(default=list, blank=True, validators=[hours.weekly_hours])
    latitude_deg = models.FloatField(
        null=True, blank=True, help_text="Degrees north; with it outdoor work keeps to daylight."
    )
    longitude_deg = models.FloatField(null=True, blank=True, help_text="Degrees east.")

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "properties"
        constraints = [
            models.CheckConstraint(
                condition=~Q(name=""),
                name="property_has_name",
                violation_error_message="Give the house a name.",
            ),
            models.CheckConstraint(
                condition=Q(built_year__isnull=True) | Q(built_year__range=(1000, 2200)),
                name="property_built_in_a_plausible_year",
                violation_error_message="The year it was built does not look right.",
            ),
            models.CheckConstraint(
                condition=Q(latitude_deg__isnull=True, longitude_deg__isnull=True)
                | Q(
                    latitude_deg__isnull=False,
                    longitude_deg__isnull=False,
                    latitude_deg__range=(-90, 90),
                    longitude_deg__range=(-180, 180),
                ),
                name="property_stands_on_earth",
                violation_error_message=(
                    "Give both: degrees north from -90 to 90 and degrees east from -180 to 180, "
                    "or neither."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        hours.known_region(self.country, self.subdivision)


class Member(Record):
    """Someone who may see a house: its owner, a helper (may change things) or a viewer."""

    class Role(models.TextChoices):
        OWNER = "owner"
        HELPER = "helper"
        VIEWER = "viewer"

    property = models.ForeignKey(Property, models.CASCADE, related_name="members")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="houses")
    role = models.CharField(max_length=6, choices=Role, default=Role.HELPER)
    shows_feet = models.BooleanField(
        default=False, help_text="Whether pages show them feet and inches beside metric lengths."
    )

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "user"],
                name="member_once_per_property",
                violation_error_message="This person is a member already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.role})"


class Storey(Record):
    """One level of the house; 0 is the ground floor, -1 a cellar."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="storeys")
    name = models.CharField(max_length=60)
    level = models.SmallIntegerField(default=0)

    class Meta:
        ordering = ["property", "level"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "level"],
                name="storey_level_once_per_property",
                violation_error_message="There is a storey at this level already.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Room(Record):
    """A room by its inner faces, in the storey's own plan coordinates [mm]."""

    class Use(models.TextChoices):
        BEDROOM = "bedroom"
        BATHROOM = "bathroom"
        KITCHEN = "kitchen"
        LIVING = "living"
        HALL = "hall"
        STAIR = "stair"
        UTILITY = "utility"
        OTHER = "other"

    property = models.ForeignKey(Property, models.CASCADE, related_name="rooms")
    storey = models.ForeignKey(Storey, models.PROTECT, related_name="rooms")
    name = models.CharField(max_length=60)
    use = models.CharField(max_length=8, choices=Use, default=Use.OTHER)
    outline = OutlineField(help_text="[[x, y], …] in mm, the inner faces of the walls.")

    class Meta:
        ordering = ["property", "storey", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                name="room_name_once_per_property",
                violation_error_message="There is a room of this name already.",
            ),
            closed_outline("outline", "room_outline_is_closed"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self._state.adding:
            return
        doorways = Doorway.objects.select_related("room_a", "room_b")
        for doorway in doorways.filter(Q(room_a=self) | Q(room_b=self)):
            beyond = doorway.room_b if doorway.room_a_id == self.pk else doorway.room_a
            if beyond and beyond.storey_id != self.storey_id:
                raise ValidationError(
                    {"storey": f"{doorway} would join two storeys; remove it first."}
                )
            if not touches(doorway.line, self.outline):
                raise ValidationError(
                    {"outline": f"{doorway} would no longer touch {self.name}; move it first."}
                )
        self.refuse_leaving_places_behind()

    def refuse_leaving_places_behind(self) -> None:
        """A bed or a basin that a household route names stays inside its room."""
        routes = HouseholdRoute.objects.filter(Q(from_room=self) | Q(to_room=self))
        for route in routes.select_related("from_room", "to_room"):
            for room_id, point in (
                (route.from_room_id, route.from_point),
                (route.to_room_id, route.to_point),
            ):
                here = room_id == self.pk and point is not None
                if here and not outlines.inside((point[0], point[1]), self.outline):
                    raise ValidationError(
                        {"outline": f"{route} names a place outside this outline; move it first."}
                    )


class Doorway(Record):
    """An opening between two rooms, or from a room to outside."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="doorways")
    room_a = models.ForeignKey(Room, models.PROTECT, related_name="doorways_a")
    room_b = models.ForeignKey(
        Room, models.PROTECT, related_name="doorways_b", null=True, blank=True
    )
    line = PolylineField(exactly=2, help_text="[[x, y], [x, y]] in mm, across the opening.")

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(room_b__isnull=True) | ~Q(room_a=F("room_b")),
                name="doorway_joins_two_rooms",
                violation_error_message="A doorway joins two different rooms.",
            )
        ]

    def __str__(self) -> str:
        return f"the doorway {self.room_a} – {self.room_b or 'outside'}"

    def clean(self) -> None:
        rooms = [self.room_a, *([self.room_b] if self.room_b else [])]
        if self.room_b and self.room_a.storey_id != self.room_b.storey_id:
            raise ValidationError({"room_b": "The two rooms are on different storeys."})
        for room in rooms:
            if not touches(self.line, room.outline):
                raise ValidationError({"line": f"The doorway does not touch {room.name}."})


def touches(line: list[list[int]], outline: list[list[int]]) -> bool:
    """Whether both ends of a doorway lie at a room's wall."""
    return all(
        outlines.distance_to_outline_mm((end[0], end[1]), outline) <= DOORWAY_REACH_MM
        for end in line
    )


class HouseholdRoute(Record):
    """A way the household must be able to walk: at night, or at all times."""

    class Needed(models.TextChoices):
        OVERNIGHT = "overnight"
        ALWAYS = "always"

    property = models.ForeignKey(Property, models.CASCADE, related_name="household_routes")
    name = models.CharField(max_length=120, blank=True)
    from_room = models.ForeignKey(Room, models.PROTECT, related_name="routes_from")
    to_room = models.ForeignKey(
        Room, models.PROTECT, related_name="routes_to", null=True, blank=True
    )
    from_point = PointField(
        null=True, blank=True, help_text="[x, y] in mm: the bed, say. Empty: any place in the room."
    )
    to_point = PointField(
        null=True, blank=True, help_text="[x, y] in mm: the basin, say. Empty: any place there."
    )
    width_mm = models.PositiveIntegerField(default=600)
    needed = models.CharField(max_length=9, choices=Needed, default=Needed.OVERNIGHT)

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width_mm__range=(300, 2000)),
                name="household_route_width_is_walkable",
                violation_error_message="A way is between 300 and 2000 mm wide.",
            ),
            models.CheckConstraint(
                condition=Q(to_room__isnull=True) | ~Q(from_room=F("to_room")),
                name="household_route_goes_somewhere",
                violation_error_message="A way leads to another room, or outside.",
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"{self.from_room} to {self.to_room or 'outside'}"

    def clean(self) -> None:
        if self.to_room and self.to_room.storey_id != self.from_room.storey_id:
            raise ValidationError(
                {"to_room": "A way stays on one storey; note the way to the stair on each."}
            )
        for name, room in (("from", self.from_room), ("to", self.to_room)):
            point = getattr(self, f"{name}_point")
            if point is None:
                continue
            if room is None:
                raise ValidationError({f"{name}_point": "Outside has no place to name."})
            if not outlines.inside((point[0], point[1]), room.outline):
                raise ValidationError({f"{name}_point": f"This place is not in {room.name}."})
