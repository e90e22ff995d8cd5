"""Catalogue rows as they go over the wire."""

from datetime import datetime
from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.validators import UniqueValidator

from survey.catalogue.models import Location, Move, Object
from survey.catalogue.wire import (
    SignedInPerson,
    SyncedSerializer,
    check_not_ahead,
    refuse,
    size_sentences,
)

A_YEAR = "A year is a whole number, such as 1875: put “about” and the like into the date as text."
YEAR = {
    "min_value": -9999,
    "max_value": 9999,
    "error_messages": dict.fromkeys(
        ("invalid", "min_value", "max_value", "max_string_length"), A_YEAR
    ),
}


class LocationSerializer(SyncedSerializer):
    class Meta:
        model = Location
        fields = ["id", "parent", "kind", "name", "order"]
        validators: list[Any] = []  # The uniqueness check of the model needs both its fields.

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        parent, name = self.value(attrs, "parent"), self.value(attrs, "name")
        namesakes = Location.objects.filter(parent=parent, name=name)
        if self.instance is not None:
            namesakes = namesakes.exclude(pk=self.instance.pk)
        if namesakes.exists():
            refuse("name", f"“{name}” already stands there: give this place another name.")
        above = parent
        while above is not None:
            if self.instance is not None and above.pk == self.instance.pk:
                refuse("parent", "A place cannot stand within itself: choose another one.")
            above = above.parent
        return attrs


class ObjectSerializer(SyncedSerializer):
    class Meta:
        model = Object
        fields = [
            "id",
            "accession_number",
            "title",
            "maker",
            "date_text",
            "earliest_year",
            "latest_year",
            "width_mm",
            "height_mm",
            "support",
            "media",
            "studio",
            "significance",
            "value_band",
            "mounts",
            "location",
            "off_site_place",
        ]
        extra_kwargs = {
            "accession_number": {
                "validators": [
                    UniqueValidator(
                        Object.objects.all(),
                        "Another object has this accession number: check the figure.",
                    )
                ]
            },
            "earliest_year": YEAR,
            "latest_year": YEAR,
            "width_mm": {"error_messages": size_sentences("mm")},
            "height_mm": {"error_messages": size_sentences("mm")},
        }

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        check_years(self.value(attrs, "earliest_year"), self.value(attrs, "latest_year"))
        return attrs


class MoveSerializer(SyncedSerializer):
    person_name = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Move
        fields = [
            "id",
            "object",
            "to_location",
            "from_location",
            "to_place",
            "from_place",
            "at",
            "person",
            "person_name",
            "note",
        ]
        extra_kwargs = {"person": {"required": False, "default": SignedInPerson()}}

    def validate_at(self, at: datetime) -> datetime:
        return check_not_ahead(at)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        to_location, to_place = self.value(attrs, "to_location"), self.value(attrs, "to_place")
        if not to_location and not to_place:
            refuse("to_location", "Say where it went: pick a location, or describe the place.")
        if to_location and to_place:
            refuse("to_place", "Say one of the two: a location, or a place outside the tree.")
        return attrs

    def create(self, validated_data: dict[str, Any]) -> Move:
        if not validated_data.get("from_location") and not validated_data.get("from_place"):
            moved: Object = validated_data["object"]
            validated_data["from_location"] = moved.location
            validated_data["from_place"] = moved.off_site_place
        created: Move = super().create(validated_data)
        return created


def check_years(earliest: int | None, latest: int | None) -> None:
    """Raise a validation error when the years of making cannot be."""
    if earliest is not None and earliest > timezone.now().year:
        refuse("earliest_year", f"The year {earliest} lies ahead: check the figure.")
    if earliest is not None and latest is not None and latest < earliest:
        refuse(
            "latest_year",
            f"The latest year, {latest}, is before the earliest, {earliest}: swap or mend them.",
        )
