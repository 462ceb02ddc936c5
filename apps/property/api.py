"""The house over HTTP: properties, members, storeys, rooms, doorways, household routes."""

from __future__ import annotations

from typing import Any, cast

from django.contrib.auth import get_user_model
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from apps.property import outlines, services
from apps.property.models import Doorway, HouseholdRoute, Member, Property, Room, Storey
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class PropertySerializer(CheckedSerializer[Property]):
    class Meta:
        model = Property
        fields = [
            "id", "version", "name", "address", "built_year", "timezone", "country",
            "subdivision", "work_on_bank_holidays", "loud_work_hours", "outdoor_work_hours",
            "latitude_deg", "longitude_deg",
        ]  # fmt: skip
        read_only_fields = ["version"]


class PropertyViewSet(RecordViewSet[Property]):
    """The houses you are a member of. Who opens one becomes its owner."""

    without_a_house = frozenset({"create"})
    queryset = Property.objects.all()
    serializer_class = PropertySerializer
    filterset_fields = {
        "name": ["exact"],
        "country": ["exact"],
        "built_year": ["exact", "gte", "lte"],
    }
    search_fields = ["name", "address"]
    ordering_fields = ["id", "name", "built_year"]

    def perform_create(self, serializer: BaseSerializer[Property]) -> None:
        serializer.instance = services.open_property(
            owner=self.request.user, **serializer.validated_data
        )

    def perform_destroy(self, instance: Property) -> None:
        services.refuse_others_than_owners(house=instance, by=self.request.user)
        instance.delete()


class MemberSerializer(CheckedSerializer[Member]):
    user = serializers.SlugRelatedField(
        slug_field="username", queryset=get_user_model().objects.all(),
        error_messages={"does_not_exist": "There is no account {value} here yet."},
    )  # fmt: skip

    class Meta:
        model = Member
        fields = ["id", "version", "property", "user", "role", "shows_feet"]
        read_only_fields = ["version"]

    def validate_user(self, user: Any) -> Any:
        if self.instance is not None and user != self.instance.user:
            raise serializers.ValidationError("Remove this member and add the other one.")
        return user


class MemberViewSet(RecordViewSet[Member]):
    """Who may see a house (viewer) and who may change it (owner, helper)."""

    queryset = Member.objects.select_related("user", "property")
    serializer_class = MemberSerializer
    filterset_fields = {
        "property": ["exact"], "role": ["exact", "in"], "user__username": ["exact"],
        "shows_feet": ["exact"],
    }  # fmt: skip
    ordering_fields = ["id", "role"]

    def perform_create(self, serializer: BaseSerializer[Member]) -> None:
        house = serializer.validated_data["property"]
        services.refuse_others_than_owners(house=house, by=self.request.user)
        serializer.save()

    def perform_update(self, serializer: BaseSerializer[Member]) -> None:
        serializer.instance = services.change_member(
            member=cast("Member", serializer.instance),
            by=self.request.user,
            **serializer.validated_data,
        )

    def perform_destroy(self, instance: Member) -> None:
        services.remove_member(member=instance, by=self.request.user)


class StoreySerializer(CheckedSerializer[Storey]):
    class Meta:
        model = Storey
        fields = ["id", "version", "property", "name", "level"]
        read_only_fields = ["version"]


class StoreyViewSet(RecordViewSet[Storey]):
    """Levels of the house; 0 is the ground floor."""

    queryset = Storey.objects.all()
    serializer_class = StoreySerializer
    filterset_fields = {"property": ["exact"], "level": ["exact", "gte", "lte"]}
    search_fields = ["name"]
    ordering_fields = ["id", "level", "name"]


class RoomSerializer(CheckedSerializer[Room]):
    """A room by its outline, or by `width_mm` × `length_mm` and its corner."""

    width_mm = serializers.IntegerField(
        write_only=True, required=False, min_value=300, max_value=50_000,
        help_text="Along x. With length_mm it stands in for an outline.",
    )  # fmt: skip
    length_mm = serializers.IntegerField(
        write_only=True, required=False, min_value=300, max_value=50_000, help_text="Along y."
    )
    corner = serializers.ListField(
        child=serializers.IntegerField(min_value=-900_000, max_value=900_000),
        min_length=2, max_length=2, write_only=True, required=False,
        help_text="[x, y] of the lowest corner. Left out: [0, 0], or where the room is.",
    )  # fmt: skip

    class Meta:
        model = Room
        fields = [
            "id", "version", "property", "storey", "name", "use", "outline",
            "width_mm", "length_mm", "corner",
        ]  # fmt: skip
        read_only_fields = ["version"]
        extra_kwargs = {"outline": {"required": False}}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        width, length = attrs.pop("width_mm", None), attrs.pop("length_mm", None)
        corner = attrs.pop("corner", None)
        if width and length:
            x, y = corner or self.lowest_corner()
            attrs["outline"] = outlines.rectangle(width, length, (x, y))
        elif width or length or corner:
            missing = "length_mm" if width else "width_mm"
            raise serializers.ValidationError({missing: ["Give width and length together."]})
        elif self.instance is None and "outline" not in attrs:
            raise serializers.ValidationError(
                {"outline": ["Give an outline, or width_mm and length_mm."]}
            )
        return super().validate(attrs)

    def lowest_corner(self) -> outlines.Point:
        """Where a room stays that only changes its size; a new one starts at the origin."""
        ring = self.instance.outline if self.instance else [[0, 0]]
        return min(x for x, _ in ring), min(y for _, y in ring)


class RoomViewSet(RecordViewSet[Room]):
    """Rooms by their inner faces [mm], in the storey's plan coordinates."""

    queryset = Room.objects.select_related("storey")
    serializer_class = RoomSerializer
    filterset_fields = {"property": ["exact"], "storey": ["exact"], "use": ["exact", "in"]}
    search_fields = ["name"]
    ordering_fields = ["id", "name", "use"]


class DoorwaySerializer(CheckedSerializer[Doorway]):
    class Meta:
        model = Doorway
        fields = ["id", "version", "property", "room_a", "room_b", "line"]
        read_only_fields = ["version"]


class DoorwayViewSet(RecordViewSet[Doorway]):
    """Openings between two rooms, or (without `room_b`) to outside."""

    queryset = Doorway.objects.select_related("room_a", "room_b")
    serializer_class = DoorwaySerializer
    filterset_fields = {
        "property": ["exact"], "room_a": ["exact"], "room_b": ["exact", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id"]


class HouseholdRouteSerializer(CheckedSerializer[HouseholdRoute]):
    class Meta:
        model = HouseholdRoute
        fields = [
            "id", "version", "property", "name", "from_room", "to_room", "from_point",
            "to_point", "width_mm", "needed",
        ]  # fmt: skip
        read_only_fields = ["version"]


class HouseholdRouteViewSet(RecordViewSet[HouseholdRoute]):
    """Ways that must stay walkable: overnight by default, or always."""

    queryset = HouseholdRoute.objects.select_related("from_room", "to_room")
    serializer_class = HouseholdRouteSerializer
    filterset_fields = {
        "property": ["exact"], "from_room": ["exact"], "to_room": ["exact", "isnull"],
        "needed": ["exact"],
    }  # fmt: skip
    search_fields = ["name"]
    ordering_fields = ["id", "name"]
