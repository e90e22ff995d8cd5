"""Loans and their checks as they go over the wire."""

from datetime import date, datetime
from typing import Any

from rest_framework import serializers

from survey.catalogue.wire import SyncedSerializer, check_not_ahead, refuse
from survey.examination.shapes import is_within
from survey.loans.days import days_in_words, year_trouble
from survey.loans.models import Loan, LoanCheck, LoanedObject, PointCheck, Signature
from survey.loans.points import open_points
from survey.loans.statements import CannotRead, read_statement, sha256_of

MOST_STROKES = 500
MOST_POINTS = 20_000
THOUSANDTHS = 1000
SAMPLE_NAMED = 3


class LoanSerializer(SyncedSerializer):
    class Meta:
        model = Loan
        fields = [
            "id",
            "reference",
            "title",
            "direction",
            "lender",
            "borrower",
            "first_day",
            "last_day",
            "venues",
            "couriers",
            "most_lux",
            "most_ultraviolet_uw_lm",
            "coolest_c",
            "warmest_c",
            "driest_percent",
            "dampest_percent",
            "steepest_display_deg",
            "hours_to_acclimatise",
            "handling",
            "framing",
            "note",
        ]

    def validate_venues(self, venues: Any) -> Any:
        if not isinstance(venues, list) or not all(
            isinstance(venue, dict)
            and set(venue) == {"name", "first_day", "last_day"}
            and isinstance(venue["name"], str)
            and venue["name"].strip()
            for venue in venues
        ):
            raise serializers.ValidationError(
                "A venue has a name, a first day and a last day: give each of them."
            )
        days = serializers.DateField(
            error_messages={"invalid": "Give the days of a venue as year-month-day."}
        )
        for venue in venues:
            first, last = (days.run_validation(venue[name]) for name in ("first_day", "last_day"))
            if last < first:
                raise serializers.ValidationError(
                    f"{venue['name']} ends before it begins: mend one of its two days."
                )
        return venues

    def validate_first_day(self, day: date) -> date:
        return self._meant(day, "first day")

    def validate_last_day(self, day: date) -> date:
        return self._meant(day, "last day")

    def _meant(self, day: date, name: str) -> date:
        if sentence := year_trouble(day, name):
            raise serializers.ValidationError(sentence)
        return day

    def validate_couriers(self, couriers: Any) -> Any:
        if not isinstance(couriers, list) or not all(
            isinstance(name, str) and name.strip() for name in couriers
        ):
            raise serializers.ValidationError("Couriers are a list of names.")
        return couriers

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        for low, high, sentence in (
            ("first_day", "last_day", "The loan ends before it begins: mend one of the two days."),
            ("coolest_c", "warmest_c", "The warmest is below the coolest: mend one of the two."),
            (
                "driest_percent",
                "dampest_percent",
                "The dampest is below the driest: mend one of the two.",
            ),
        ):
            lowest, highest = self.value(attrs, low), self.value(attrs, high)
            if lowest is not None and highest is not None and highest < lowest:
                refuse(high, sentence)
        if {"venues", "first_day", "last_day"} & set(attrs):
            self._check_venues(attrs)
        if {"reference", "direction"} & set(attrs):
            self._check_reference(attrs)
        return attrs

    def _check_venues(self, attrs: dict[str, Any]) -> None:
        """Within the days of the loan."""
        first, last = self.value(attrs, "first_day"), self.value(attrs, "last_day")
        for venue in self.value(attrs, "venues"):
            days = [date.fromisoformat(venue[name]) for name in ("first_day", "last_day")]
            if not first <= days[0] <= days[1] <= last:
                refuse(
                    "venues",
                    f"{venue['name']}, {days_in_words(*days)}, is not within the loan, "
                    f"{days_in_words(first, last)}: mend its days, or those of the loan.",
                )

    def _check_reference(self, attrs: dict[str, Any]) -> None:
        """A number is one loan's, among those lent out and among those borrowed."""
        reference = self.value(attrs, "reference")
        others = Loan.objects.filter(
            reference=reference, direction=self.value(attrs, "direction"), deleted_at=None
        )
        if self.instance is not None:
            others = others.exclude(pk=self.instance.pk)
        other = others.first()
        if other is not None:
            refuse(
                "reference",
                f"{reference} is the number of the loan “{other.title}” already: give another.",
            )


class LoanedObjectSerializer(SyncedSerializer):
    class Meta:
        model = LoanedObject
        fields = ["id", "loan", "object", "crate", "frame", "glazing", "order"]


class LoanCheckSerializer(SyncedSerializer):
    class Meta:
        model = LoanCheck
        fields = [
            "id",
            "loan",
            "examination",
            "earlier",
            "stage",
            "venue",
            "crate",
            "seals",
            "seals_whole",
            "hours_acclimatised",
            "logger",
            "temperature_c",
            "humidity_percent",
            "glazing",
            "note",
            "statement",
        ]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        loan, examination = self.value(attrs, "loan"), self.value(attrs, "examination")
        earlier = self.value(attrs, "earlier")
        if {"loan", "examination"} & set(attrs) and not LoanedObject.objects.filter(
            loan=loan, object=examination.object_id, deleted_at=None
        ).exists():
            refuse("examination", "This object is not part of the loan: add it at the desk first.")
        if earlier is not None and earlier.object_id != examination.object_id:
            refuse("earlier", "The earlier state is one of another object.")
        if earlier is not None and not earlier.is_signed:
            refuse("earlier", "The earlier state is not signed: a check starts from a signed one.")
        if attrs.get("statement"):
            self.check_statement(attrs["statement"])
        return attrs

    def check_statement(self, statement: str) -> None:
        if self.instance is None:
            refuse("statement", "Send the check first, then what was signed.")
        try:
            said = read_statement(statement)
        except CannotRead as error:
            refuse("statement", str(error))
        if said["check"].get("id") != str(self.instance.pk):
            refuse("statement", "What was signed is about another check.")
        still_open = open_points(self.instance)
        if still_open:
            named = "; ".join(point.term.name for point in still_open[:SAMPLE_NAMED])
            refuse(
                "statement",
                f"{_points(len(still_open))} neither answered nor left open with a reason "
                f"({named}). See to that, then sign.",
            )


class PointCheckSerializer(SyncedSerializer):
    class Meta:
        model = PointCheck
        fields = ["id", "loan_check", "observation", "answer", "reason", "photograph", "now"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        check = self.value(attrs, "loan_check")
        observation = self.value(attrs, "observation")
        if observation and observation.examination.object_id != check.examination.object_id:
            refuse("observation", "This observation is of another object.")
        for name in ("photograph", "now"):
            row = self.value(attrs, name)
            if row and row.examination_id != check.examination_id:
                refuse(name, "This belongs to another examination than the check's own.")
        return attrs


class SignatureSerializer(SyncedSerializer):
    class Meta:
        model = Signature
        fields = ["id", "loan_check", "role", "name", "of", "strokes", "signed_at", "sha256"]

    def validate_signed_at(self, signed_at: datetime) -> datetime:
        return check_not_ahead(signed_at)

    def validate_strokes(self, strokes: Any) -> Any:
        """None at all: signed with the name alone, for whoever cannot draw."""
        if (
            not isinstance(strokes, list)
            or len(strokes) > MOST_STROKES
            or not all(isinstance(stroke, list) and stroke for stroke in strokes)
            or sum(map(len, strokes)) > MOST_POINTS
            or not all(_is_point(point) for stroke in strokes for point in stroke)
        ):
            raise serializers.ValidationError(
                "This is no drawing of a signature: clear the field and sign again."
            )
        return strokes

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        check = self.value(attrs, "loan_check")
        if not check.is_signed:
            refuse("loan_check", "There is nothing to sign yet: this check has no statement.")
        if sha256_of(check.statement) != self.value(attrs, "sha256"):
            refuse(
                "sha256",
                "This signature belongs to other words than those of the check: it may have been "
                "signed on another device meanwhile. Nothing is lost; sign what stands.",
            )
        return attrs


def _points(number: int) -> str:
    return "1 known point is" if number == 1 else f"{number} known points are"


def _is_point(point: Any) -> bool:
    return (
        isinstance(point, list)
        and len(point) == 2
        and all(is_within(value, 0, THOUSANDTHS) for value in point)
    )
