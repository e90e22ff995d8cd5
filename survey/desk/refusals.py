"""What a form says of a field that is empty or wrong, unless the field has sentences of its own."""

from django import forms
from django.core import validators
from django.db import models

NOT_OFFERED = "Choose one of those that are offered."
FORM_FIELDS: dict[type, dict[str, str]] = {
    forms.Field: {"required": "Fill this in."},
    forms.IntegerField: {"invalid": "Give a whole number."},
    forms.FloatField: {"invalid": "Give a number, as 2.5."},
    forms.DateField: {
        "required": "Give a day that the calendar has, as 2026-05-03.",
        "invalid": "Give a day that the calendar has, as 2026-05-03.",
    },
    forms.ChoiceField: {"invalid_choice": NOT_OFFERED},
    forms.ModelChoiceField: {"invalid_choice": NOT_OFFERED},
    forms.FileField: {
        "required": "Choose a file first.",
        "missing": "Choose a file first.",
        "empty": "The file is empty: choose another one.",
    },
}
MODEL_FIELDS = {"blank": "Fill this in.", "null": "Fill this in.", "invalid_choice": NOT_OFFERED}
BOUNDS: dict[type, str] = {
    validators.MinValueValidator: "Give %(limit_value)s or more.",
    validators.MaxValueValidator: "Give %(limit_value)s or less.",
    validators.MaxLengthValidator: "Shorten it: %(show_value)d characters, of %(limit_value)d.",
}


def speak() -> None:
    """Put these in the place of the framework's, once, as the project starts."""
    for field, sentences in FORM_FIELDS.items():
        field.default_error_messages = field.default_error_messages | sentences  # type: ignore[attr-defined]
    models.Field.default_error_messages |= MODEL_FIELDS
    for validator, sentence in BOUNDS.items():
        validator.message = sentence  # type: ignore[attr-defined]
