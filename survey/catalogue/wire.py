"""What the rows that go over the wire have in common: their keys, numbers and first checks."""

import math
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from typing import Any, NoReturn

from django.core.exceptions import ValidationError as ModelValidationError
from django.db import models
from django.utils import timezone
from rest_framework import serializers

# How far a tablet's calendar may run ahead before a date is held to be a slip.
CLOCK_SLACK = timedelta(days=1)


class KeyField(serializers.PrimaryKeyRelatedField):
    """A foreign key as a string, whatever the key's own type."""

    default_error_messages = {
        "required": "This is missing: say which record it belongs to.",
        "does_not_exist": "No record has the key “{pk_value}”: send that record first.",
        "incorrect_type": "A key is written as text, not as {data_type}.",
    }

    def to_internal_value(self, data: Any) -> Any:
        try:
            return super().to_internal_value(data)
        except ModelValidationError:  # Text that cannot be a key at all, such as a broken UUID.
            self.fail("does_not_exist", pk_value=data)

    def to_representation(self, value: Any) -> str:
        return str(value.pk)


class FiniteFloatField(serializers.FloatField):
    """A number. ``float()`` would also take "nan" and "inf"; neither was ever measured."""

    default_error_messages = {
        "invalid": "This is not a number: write digits, with a full stop before any decimals.",
        "max_value": "This is more than {max_value:g}, the most that is taken: check the figure.",
        "min_value": "This is less than {min_value:g}, the least that is taken: check the figure.",
    }

    def to_internal_value(self, data: Any) -> float:
        number = super().to_internal_value(data)
        if not math.isfinite(number):
            self.fail("invalid")
        return number


class WordsField(serializers.CharField):
    """Text kept as typed: a trimmed space would come back into a field being written in."""

    default_error_messages = {
        "required": "This is missing: write something here.",
        "blank": "This may not stay empty: write something here.",
        "max_length": "This is longer than {max_length} characters: shorten it.",
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"trim_whitespace": False, **kwargs})

    def run_validation(self, data: Any = serializers.empty) -> Any:
        if isinstance(data, str) and not data.strip() and not self.allow_blank:
            self.fail("blank")
        return super().run_validation(data)


class ChoiceField(serializers.ChoiceField):
    default_error_messages = {"invalid_choice": "“{input}” is not one of the choices."}


class SyncedSerializer(serializers.ModelSerializer):
    """A ModelSerializer whose keys are strings, numbers finite and words kept as typed.

    Expects ``context["person"]``: whoever is signed in, or None for the server itself.
    """

    serializer_related_field = KeyField
    serializer_choice_field = ChoiceField
    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.FloatField: FiniteFloatField,
        models.CharField: WordsField,
        models.TextField: WordsField,
    }

    def value(self, attrs: Mapping[str, Any], name: str) -> Any:
        """What the field will hold: from this change, else the row, else the model's default."""
        if name in attrs:
            return attrs[name]
        if self.instance is not None:
            return getattr(self.instance, name)
        model: type[models.Model] = self.Meta.model
        field: Any = model._meta.get_field(name)
        return field.get_default()


class SignedInPerson:
    """Default for a person's field that a tablet need not send."""

    requires_context = True

    def __call__(self, field: serializers.Field[Any, Any, Any, Any]) -> Any:
        person = field.context.get("person")
        if person is None:
            raise serializers.ValidationError("Say whose this is: nobody is signed in.")
        return person


def writable(serializer: type[SyncedSerializer]) -> frozenset[str]:
    """The fields of a serializer that a tablet may set."""
    fields = serializer().get_fields()
    return frozenset(name for name, field in fields.items() if not field.read_only)


def refuse(field: str, sentence: str) -> NoReturn:
    raise serializers.ValidationError({field: [sentence]})


def size_sentences(unit: str) -> dict[str, str]:
    """Error messages for a size with a lower and an upper bound."""
    return {
        "min_value": f"A size is at least {{min_value:g}} {unit}. Leave it empty if not measured.",
        "max_value": f"A size is at most {{max_value:g}} {unit}: check the figure and its unit.",
    }


def check_code(code: str, known: Collection[str], what: str) -> str:
    """The code, if the vocabulary has it; a validation error that names those it has."""
    if code not in known:
        listed = ", ".join(sorted(known))
        raise serializers.ValidationError(f"“{code}” is not {what}. Use one of: {listed}.")
    return code


def check_codes(codes: Any, known: Collection[str], what: str) -> list[str]:
    """A list of codes that the vocabulary has, each once."""
    if not isinstance(codes, list) or not all(isinstance(code, str) for code in codes):
        raise serializers.ValidationError("This must be a list of codes.")
    if len(set(codes)) < len(codes):
        raise serializers.ValidationError("A code stands here twice: name each one once.")
    return [check_code(code, known, what) for code in codes]


def check_not_ahead(moment: datetime) -> datetime:
    if moment > timezone.now() + CLOCK_SLACK:
        raise serializers.ValidationError(
            f"{moment:%-d %B %Y} lies more than a day ahead: check the date on this device."
        )
    return moment
