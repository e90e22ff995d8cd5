"""Visits, examinations and what hangs on one, as they go over the wire."""

import re
from datetime import datetime
from typing import Any

from django.conf import settings
from rest_framework import serializers

from survey.catalogue.models import LONGEST_SHEET_MM
from survey.catalogue.wire import (
    CLOCK_SLACK,
    SignedInPerson,
    SyncedSerializer,
    check_code,
    check_codes,
    check_not_ahead,
    refuse,
    size_sentences,
)
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
    Visit,
    Watermark,
)
from survey.examination.shapes import (
    MOST_PIXELS_ACROSS,
    check_homography,
    check_mark,
    check_placing,
    check_points,
    check_position,
    check_region,
    check_shot_check,
    is_key,
)
from survey.vocabulary import queries as vocabulary
from survey.vocabulary.models import Term

SHA256 = re.compile(r"[0-9a-f]{64}")
LONGEST = {
    Measurement.Unit.MM: LONGEST_SHEET_MM,
    Measurement.Unit.MM2: LONGEST_SHEET_MM**2,
}


class VisitSerializer(SyncedSerializer):
    person_name = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Visit
        fields = [
            "id",
            "purpose",
            "name",
            "location",
            "place",
            "person",
            "person_name",
            "started_at",
            "ended_at",
            "note",
        ]
        extra_kwargs = {"person": {"required": False, "default": SignedInPerson()}}

    def validate_started_at(self, started_at: datetime) -> datetime:
        return check_not_ahead(started_at)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        ended_at = self.value(attrs, "ended_at")
        if ended_at is not None and ended_at < self.value(attrs, "started_at"):
            refuse("ended_at", "A visit ends after it started: mend one of the two times.")
        return attrs


class ExaminationSerializer(SyncedSerializer):
    examiner_name = serializers.CharField(source="examiner.name", read_only=True)

    class Meta:
        model = Examination
        fields = [
            "id",
            "visit",
            "object",
            "examiner",
            "examiner_name",
            "started_at",
            "location",
            "place",
            "location_confirmed",
            "position",
            "sheet_width_mm",
            "sheet_height_mm",
            "sheet_uncertainty_mm",
            "mount",
            "verso_seen",
            "nothing_seen",
            "grade",
            "notes",
            "lamp_s",
            "signed_at",
            "signed_name",
        ]
        extra_kwargs = {
            "examiner": {"required": False, "default": SignedInPerson()},
            "sheet_width_mm": {"error_messages": size_sentences("mm")},
            "sheet_height_mm": {"error_messages": size_sentences("mm")},
            "sheet_uncertainty_mm": {
                "error_messages": {
                    "min_value": "An uncertainty is at least {min_value:g} mm.",
                    "max_value": "An uncertainty is at most {max_value:g} mm: measure again.",
                }
            },
        }

    def validate_started_at(self, started_at: datetime) -> datetime:
        return check_not_ahead(started_at)

    def validate_signed_at(self, signed_at: datetime | None) -> datetime | None:
        return signed_at and check_not_ahead(signed_at)

    def validate_position(self, position: Any) -> Any:
        return None if position is None else check_position(position)

    def validate_grade(self, grade: str) -> str:
        return grade and check_code(grade, codes(vocabulary.grades()), "a grade")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        examined, started_at = self.value(attrs, "object"), self.value(attrs, "started_at")
        earliest = examined.earliest_year if examined else None
        if earliest is not None and started_at.year < earliest:
            refuse(
                "started_at",
                f"{started_at:%-d %B %Y} is before the object existed ({earliest} at the "
                "earliest): mend the date of the examination.",
            )
        if self.value(attrs, "signed_at") is not None:
            self.check_signing(attrs)
        return attrs

    def check_signing(self, attrs: dict[str, Any]) -> None:
        if not self.value(attrs, "signed_name").strip():
            refuse("signed_name", "Sign with your name.")
        if self.value(attrs, "signed_at") < self.value(attrs, "started_at") - CLOCK_SLACK:
            refuse(
                "signed_at",
                "The signature is dated more than a day before the examination started: "
                "check the date on this device.",
            )
        seen = Observation.objects.filter(examination=self.instance, deleted_at=None)
        nothing_seen = self.value(attrs, "nothing_seen")
        if not nothing_seen and not seen.exists():
            refuse(
                "signed_at",
                "Nothing is recorded yet. Tick what you saw, or say outright that nothing "
                "was seen; then sign.",
            )
        if nothing_seen and seen.exclude(nature=Observation.Nature.FEATURE).exists():
            refuse(
                "nothing_seen",
                "Damage is recorded, and “nothing seen” is said as well. Take one of the two "
                "back; then sign.",
            )


class PhotographSerializer(SyncedSerializer):
    class Meta:
        model = Photograph
        fields = [
            "id",
            "examination",
            "light",
            "azimuth_deg",
            "side",
            "sha256",
            "size_bytes",
            "content_type",
            "file_name",
            "width_px",
            "height_px",
            "taken_at",
            "caption",
            "homography",
            "placing",
            "shot_check",
            "trouble",
        ]
        extra_kwargs = {
            "width_px": {"min_value": 1, "max_value": MOST_PIXELS_ACROSS},
            "height_px": {"min_value": 1, "max_value": MOST_PIXELS_ACROSS},
            "size_bytes": {"min_value": 1, "max_value": settings.UPLOAD_LIMIT_BYTES},
        }

    def validate_light(self, light: str) -> str:
        return check_code(light, codes(vocabulary.lights()), "a light")

    def validate_sha256(self, sha256: str) -> str:
        if not SHA256.fullmatch(sha256):
            raise serializers.ValidationError(
                "A SHA-256 is 64 digits from 0 to 9 and a to f: take its checksum again."
            )
        if self.instance is not None and self.instance.sha256 != sha256:
            raise serializers.ValidationError(
                "The picture of a photograph never changes: add a new photograph instead."
            )
        return sha256

    def validate_content_type(self, content_type: str) -> str:
        if not content_type.startswith("image/"):
            raise serializers.ValidationError("This file is not a picture: choose a photograph.")
        return content_type

    def validate_taken_at(self, taken_at: datetime) -> datetime:
        return check_not_ahead(taken_at)

    def validate_homography(self, homography: Any) -> Any:
        return None if homography is None else check_homography(homography)

    def validate_placing(self, placing: Any) -> Any:
        return None if placing is None else check_placing(placing)

    def validate_shot_check(self, check: Any) -> Any:
        return None if check is None else check_shot_check(check)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        azimuth, is_raking = (
            self.value(attrs, "azimuth_deg"),
            self.value(attrs, "light") == "raking",
        )
        if is_raking and azimuth is None:
            refuse(
                "azimuth_deg",
                "Raking light comes from somewhere: set its azimuth, in degrees clockwise from "
                "the sheet’s top edge.",
            )
        if azimuth is not None and not is_raking:
            refuse("azimuth_deg", "Only raking light has an azimuth: take it away, or choose it.")
        if azimuth is not None and not 0 <= azimuth < 360:
            refuse("azimuth_deg", "An azimuth runs from 0° up to, but not including, 360°.")
        return attrs


class ObservationSerializer(SyncedSerializer):
    class Meta:
        model = Observation
        fields = [
            "id",
            "examination",
            "term",
            "nature",
            "extent",
            "severity",
            "side",
            "lights",
            "note",
            "mark",
            "region",
        ]

    def validate_term(self, term: Term) -> Term:
        # A retired term stays in old records; nobody picks it anew.
        if term.retired_at is not None and getattr(self.instance, "term_id", None) != term.pk:
            raise serializers.ValidationError(
                f"The term “{term.name}” was retired on {term.retired_at:%-d %B %Y}: "
                "choose another one."
            )
        return term

    def validate_lights(self, lights: Any) -> list[str]:
        return check_codes(lights, codes(vocabulary.lights()), "a light")

    def validate_mark(self, mark: Any) -> Any:
        return None if mark is None else check_mark(mark)

    def validate_region(self, region: Any) -> Any:
        return None if region is None else check_region(region)


class MeasurementSerializer(SyncedSerializer):
    class Meta:
        model = Measurement
        fields = [
            "id",
            "examination",
            "observation",
            "what",
            "value",
            "uncertainty",
            "unit",
            "photograph",
            "points",
        ]

    def validate_points(self, points: Any) -> Any:
        return None if points is None else check_points(points)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        observation = self.value(attrs, "observation")
        if observation and observation.examination != self.value(attrs, "examination"):
            refuse("observation", "This observation belongs to another examination.")
        photograph = self.value(attrs, "photograph")
        if photograph and photograph.examination != self.value(attrs, "examination"):
            refuse("photograph", "This photograph belongs to another examination.")
        unit = Measurement.Unit(self.value(attrs, "unit"))
        most = LONGEST[unit]
        if not 0 < self.value(attrs, "value") <= most:
            refuse("value", f"A measurement is more than 0 and at most {most:g} {unit.label}.")
        return attrs


class RecommendationSerializer(SyncedSerializer):
    class Meta:
        model = Recommendation
        fields = ["id", "examination", "kind_of_work", "hours", "hazards", "note"]
        extra_kwargs = {
            "hours": {
                "error_messages": {
                    "min_value": "Hours are 0 or more. Leave them empty if you cannot say.",
                    "max_value": "That is more than {max_value:g} hours: check the figure.",
                }
            }
        }

    def validate_kind_of_work(self, kind: str) -> str:
        return check_code(kind, codes(vocabulary.kinds_of_work()), "a kind of work")

    def validate_hazards(self, hazards: Any) -> list[str]:
        return check_codes(hazards, codes(vocabulary.hazards()), "a hazard")


class WatermarkSerializer(SyncedSerializer):
    class Meta:
        model = Watermark
        fields = [
            "id",
            "examination",
            "kind",
            "motif",
            "letters",
            "side",
            "seen_from",
            "region",
            "width_mm",
            "height_mm",
            "to_left_chain_mm",
            "to_right_chain_mm",
            "chain_interval_mm",
            "uncertainty_mm",
            "chains_within",
            "repertory",
            "repertory_number",
            "repertory_place",
            "repertory_from_year",
            "repertory_to_year",
            "match",
            "note",
        ]

    def validate_region(self, region: Any) -> Any:
        return None if region is None else check_region(region)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        first, last = (
            self.value(attrs, name) for name in ("repertory_from_year", "repertory_to_year")
        )
        if first is not None and last is not None and last < first:
            refuse(
                "repertory_to_year",
                "The repertory’s years end before they begin: mend one of the two.",
            )
        return attrs


class AmendmentSerializer(SyncedSerializer):
    class Meta:
        model = Amendment
        fields = [
            "id",
            "examination",
            "subject",
            "field",
            "before",
            "after",
            "reason",
            "signed_at",
            "signed_name",
        ]

    def validate_signed_at(self, signed_at: datetime) -> datetime:
        return check_not_ahead(signed_at)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        examination: Examination = self.value(attrs, "examination")
        if not examination.is_signed:
            refuse("examination", "This examination is not signed yet: change it directly.")
        row, serializer = self.amended(examination, self.value(attrs, "subject"))
        field = self.value(attrs, "field")
        if field and field not in serializer.Meta.fields:
            refuse("field", f"There is no field called “{field}” to amend.")
        if field:
            proposed = serializer(
                row, {field: attrs.get("after")}, partial=True, context=self.context
            )
            if not proposed.is_valid():
                refuse("after", " ".join(sentences(proposed.errors)))
        return attrs

    def amended(self, examination: Examination, subject: str) -> tuple[Any, type[SyncedSerializer]]:
        """The row that the amendment corrects, and the serializer that knows its fields."""
        if subject == "examination":
            return examination, ExaminationSerializer
        kind, _, key = subject.partition(":")
        serializer = PARTS.get(kind)
        if serializer is not None and is_key(key):
            model: Any = serializer.Meta.model
            row = model.objects.filter(examination=examination, pk=key).first()
            if row is not None:
                return row, serializer
        refuse("subject", f"“{subject}” is not a part of this examination.")


# What an amendment may be about, beside the examination itself.
PARTS: dict[str, type[SyncedSerializer]] = {
    "observation": ObservationSerializer,
    "photograph": PhotographSerializer,
    "measurement": MeasurementSerializer,
    "recommendation": RecommendationSerializer,
    "watermark": WatermarkSerializer,
}


def codes(entries: list[dict[str, Any]]) -> set[str]:
    return {entry["code"] for entry in entries}


def sentences(errors: Any) -> list[str]:
    """Every sentence of a serializer's errors, in order."""
    return [str(sentence) for of_field in errors.values() for sentence in of_field]
