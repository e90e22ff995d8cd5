"""The desk's forms. They check what a person typed; services check what is allowed."""

import math
from collections.abc import Mapping
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError

from survey.access.guesses import TooManyGuesses, WrongGuesses
from survey.access.services import note
from survey.catalogue.models import Object
from survey.catalogue.queries import Passed, walk
from survey.desk.watermarks import DESCRIBED, MEASURED, REPERTORY
from survey.examination.models import Observation, Watermark
from survey.reading.models import PaperNote
from survey.reports.words import field_name
from survey.triage import models, rule
from survey.vocabulary import queries as vocabulary
from survey.vocabulary.models import Term

ANY = ("", "Any")


def kinds_of_work() -> list[tuple[str, str]]:
    return list(vocabulary.kind_names().items())


def places(passed: Passed | None = None) -> list[tuple[str, str]]:
    """The tree of places, each indented below the one that holds it.

    passed  what ``walk`` gave, where it was walked before
    """
    return [(str(place.pk), "\u2003" * depth + place.name) for place, depth in passed or walk()]


class SignInForm(AuthenticationForm):
    """Slows down whoever tries passwords."""

    error_messages = {
        "invalid_login": "This name and password do not belong together. Try again.",
        "inactive": "This account is closed. Ask whoever looks after Fieldleaf.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"

    def clean(self) -> dict[str, Any]:
        username = self.cleaned_data.get("username", "")
        guesses = WrongGuesses(username)
        assert self.request is not None, "LoginView always hands the request on"
        try:
            guesses.check(self.request)
        except TooManyGuesses as refusal:
            raise ValidationError(str(refusal.detail)) from refusal
        try:
            return super().clean()
        except ValidationError:
            guesses.count()
            note(None, "sign-in refused", username)
            raise


class WeightsForm(forms.ModelForm):
    class Meta:
        model = models.Weights
        fields = rule.PARTS
        labels = rule.PART_NAMES

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs |= {"max": 100, "min": 0}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            try:
                rule.check_weights(self.weights())
            except ValueError as error:
                raise ValidationError(str(error)) from error
        return cleaned

    def weights(self) -> rule.Weights:
        return rule.Weights(**{part: self.cleaned_data[part] for part in rule.PARTS})


class NeedForm(forms.ModelForm):
    class Meta:
        model = models.Need
        fields = ("kind", "title", "due")
        labels = {"kind": "Wanted for", "title": "Name of it", "due": "By"}
        widgets = {"due": forms.DateInput(attrs={"type": "date"})}


class ObjectForm(forms.ModelForm):
    """Corrects a catalogue entry. Where it stands is changed by a move, not here."""

    class Meta:
        model = Object
        fields = (
            "accession_number",
            "title",
            "maker",
            "date_text",
            "earliest_year",
            "latest_year",
            "height_mm",
            "width_mm",
            "support",
            "media",
            "mounts",
            "studio",
            "significance",
            "value_band",
        )
        labels = {
            "date_text": "Date in words",
            "height_mm": "Height, mm",
            "width_mm": "Width, mm",
        }


class MoveForm(forms.Form):
    to_location = forms.ChoiceField(required=False, label="Location")
    to_place = forms.CharField(
        required=False, max_length=200, label="Or a place outside the tree, in words"
    )
    note = forms.CharField(required=False, max_length=300, label="Note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "Not in the tree"), *places()]
        self.fields["to_location"].choices = choices  # type: ignore[attr-defined]


class TermForm(forms.Form):
    """A condition term of the department's own."""

    group = forms.ChoiceField(choices=Term.Group.choices)
    name = forms.CharField(max_length=80)
    definition = forms.CharField(
        widget=forms.Textarea, help_text="How it differs from its neighbours, in a sentence or two."
    )
    lights = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple, label="Lights that usually show it"
    )
    may_be_feature = forms.BooleanField(
        required=False, label="May be a feature of making rather than damage"
    )
    hazards = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        required=False,
        label="Hazards it raises",
        help_text="Whatever is ticked here puts the object into act now when the term is seen.",
    )
    caution = forms.ChoiceField(required=False, label="Caution to show with it")
    slight = forms.CharField(required=False, label="What slight looks like")
    moderate = forms.CharField(required=False, label="What moderate looks like")
    severe = forms.CharField(required=False, label="What severe looks like")
    source = forms.CharField(
        required=False,
        max_length=300,
        help_text="The publication it follows; left empty, it reads “common practice, no source”.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, entries in {
            "lights": vocabulary.lights(),
            "hazards": vocabulary.hazards(),
            "caution": [{"code": "", "name": "None"}, *vocabulary.cautions()],
        }.items():
            choices = [(entry["code"], entry["name"]) for entry in entries]
            self.fields[name].choices = choices  # type: ignore[attr-defined]

    def term(self) -> dict[str, Any]:
        """What :func:`survey.vocabulary.services.add_term` takes."""
        given = dict(self.cleaned_data)
        anchors = {grade: given.pop(grade) for grade in ("slight", "moderate", "severe")}
        return given | {"anchors": anchors if any(anchors.values()) else None}

    def take_back(self, refusal: ValidationError) -> None:
        """Show the service's sentences beside the fields they are about."""
        for field, sentences in refusal.message_dict.items():
            self.add_error(field if field in self.fields else None, sentences)


class ImportForm(forms.Form):
    file = forms.FileField(
        label="CSV file", help_text="UTF-8, with a heading in the first line of every column."
    )


class WatermarkForm(forms.ModelForm):
    """The record of a watermark. What is left empty is not said."""

    class Meta:
        model = Watermark
        fields = (*DESCRIBED, *MEASURED, "uncertainty_mm", *REPERTORY, "note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.label = field_name(name)

    def changed(self) -> dict[str, Any]:
        """The fields that were touched, with their new values."""
        return {name: self.cleaned_data[name] for name in self.changed_data}


class ReasonForm(forms.Form):
    """Why a signed record is amended."""

    reason = forms.CharField(
        widget=forms.Textarea, max_length=2000, label="Why", help_text="Signed with your name."
    )


class AcceptForm(forms.Form):
    """What a change on a signed sheet is, to the eye of whoever accepts it as an amendment."""

    term = forms.ModelChoiceField(
        Term.objects.filter(retired_at=None),
        error_messages={"required": "Choose what it is."},
    )
    nature = forms.ChoiceField(choices=Observation.Nature.choices)
    severity = forms.ChoiceField(choices=Observation.Severity.choices, required=False)
    sentence = forms.CharField(
        max_length=1000,
        error_messages={"required": "Say in a sentence what you see: it is signed with your name."},
    )


class PaperNoteForm(forms.ModelForm):
    """What a conservator knows of an object's paper."""

    class Meta:
        model = PaperNote
        fields = (
            "furnish",
            "machine_made",
            "wove",
            "brightener_seen",
            "chlorine_bleached",
            "note",
        )
        labels = {
            "furnish": "Fibre",
            "machine_made": "Machine-made",
            "wove": "Wove",
            "brightener_seen": "Optical brightener seen",
            "chlorine_bleached": "Bleached with chlorine",
            "note": "How it is known",
        }


def reason_field(*, required: bool) -> forms.CharField:
    return forms.CharField(required=required, max_length=300, label="Reason")


class ChainLinesForm(forms.Form):
    """The chain lines one by one, in mm along the direction across them; empty ones are none."""

    SPARE = 2

    chain_angle_deg = forms.FloatField(
        required=False,
        min_value=-45,
        max_value=134.99,
        label="Their direction, ° clockwise from upright",
        help_text="Only where the picture did not tell it, or told it wrongly.",
    )
    reason = reason_field(required=False)

    @classmethod
    def of(cls, result: Mapping[str, Any], prefix: str) -> "ChainLinesForm":
        """With the chain lines of a reading, and room for more."""
        offsets = [f"{line['offset_mm']:.2f}" for line in result["chains"]]
        form = cls(prefix=prefix)
        form.offsets = [*offsets, *[""] * cls.SPARE]
        return form

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs["step"] = "any"
        self.offsets = [value for _, value in self._given()]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["chains_mm"] = []
        for number, text in self._given():
            if not text.strip() or self.data.get(f"{self.prefix}-away-{number}"):
                continue
            try:
                offset = float(text.replace(",", ".").replace("−", "-"))
                if not math.isfinite(offset):
                    raise ValueError
            except ValueError:
                self.add_error(None, f"“{text}” is not a number of millimetres.")
            else:
                cleaned["chains_mm"].append(offset)
        return cleaned

    def changes(self) -> dict[str, Any]:
        changes = {"chains_mm": sorted(self.cleaned_data["chains_mm"])}
        if self.cleaned_data["chain_angle_deg"] is not None:
            changes["chain_angle_deg"] = self.cleaned_data["chain_angle_deg"]
        return changes

    def rows(self) -> list[tuple[int, str, bool]]:
        """Number, text and whether it is ticked to be taken away, for each line of the form."""
        return [
            (number, text, bool(self.data.get(f"{self.prefix}-away-{number}")))
            for number, text in enumerate(self.offsets)
        ]

    def _given(self) -> list[tuple[int, str]]:
        start = f"{self.prefix}-chain-"
        given = [
            (int(name.removeprefix(start)), str(value))
            for name, value in self.data.items()
            if name.startswith(start) and name.removeprefix(start).isdecimal()
        ]
        return sorted(given)


class LaidCountForm(forms.Form):
    """Laid lines counted by eye over a stretch."""

    laid_count = forms.IntegerField(min_value=2, max_value=1000, label="Laid lines counted")
    laid_over_mm = forms.FloatField(
        min_value=2,
        max_value=2000,
        label="Over, mm",
        widget=forms.NumberInput(attrs={"step": "any"}),
    )
    reason = reason_field(required=False)

    def changes(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("laid_count", "laid_over_mm")}


class MakeForm(forms.Form):
    """What the paper is, to the eye."""

    make = forms.ChoiceField(
        choices=[("laid", "Laid"), ("wove", "Wove"), ("not measurable", "Not measurable")],
        label="The paper is",
    )
    reason = reason_field(required=True)

    def changes(self) -> dict[str, Any]:
        return {"make": self.cleaned_data["make"]}
