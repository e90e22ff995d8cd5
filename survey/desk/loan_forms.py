"""Forms of the loans. What a loan may hold is said by its serializer, in sentences."""

import json
from datetime import date
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory

from survey.catalogue.models import Object
from survey.desk.exposure_forms import AnyDecimals, day_input
from survey.loans.checking import Hand
from survey.loans.models import Loan, LoanCheck, LoanedObject, Signature

DAY_NAMES = ("first_day", "last_day")
SPARE_VENUES = 2
PARTIES = ("reference", "title", "lender", "borrower")
JOURNEY = ("direction", "first_day", "last_day", "couriers")
CONDITIONS = (
    "most_lux",
    "most_ultraviolet_uw_lm",
    "coolest_c",
    "warmest_c",
    "driest_percent",
    "dampest_percent",
    "steepest_display_deg",
    "hours_to_acclimatise",
)
IN_WORDS = ("handling", "framing", "note")


class NamesField(forms.CharField):
    """A list of names, one a line."""

    widget = forms.Textarea

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> Any:
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]


def meant_field() -> forms.BooleanField:
    """Shown once it is needed: when an object is on another loan on some of the days."""
    return forms.BooleanField(
        required=False, label="It is meant that objects are on two loans at once"
    )


class LoanForm(AnyDecimals):
    must_be_meant = False
    couriers = NamesField(
        required=False, label="Couriers", help_text="Who travels with the crates, a name a line."
    )
    is_meant = meant_field()

    class Meta:
        model = Loan
        fields = (*PARTIES, *JOURNEY, *CONDITIONS, *IN_WORDS)
        labels = {
            "reference": "Loan number",
            "title": "Exhibition or purpose",
            "direction": "The objects are",
            "most_lux": "Light at most, lx",
            "most_ultraviolet_uw_lm": "Ultraviolet at most, µW/lm",
            "coolest_c": "Temperature from, °C",
            "warmest_c": "Temperature to, °C",
            "driest_percent": "Relative humidity from, %",
            "dampest_percent": "Relative humidity to, %",
            "steepest_display_deg": "Display angle at most, degrees",
            "hours_to_acclimatise": "Closed crates stand before opening, hours",
            "framing": "Frame and glazing",
        }
        help_texts = {
            "last_day": "Couriers’ passes end with this day.",
            "steepest_display_deg": "0 lies flat, 90 hangs on the wall.",
        }
        widgets = {name: day_input() for name in DAY_NAMES}

    def parties(self) -> list[forms.BoundField]:
        return [self[name] for name in PARTIES]

    def journey(self) -> list[forms.BoundField]:
        return [self[name] for name in JOURNEY]

    def conditions(self) -> list[forms.BoundField]:
        return [self[name] for name in CONDITIONS]

    def in_words(self) -> list[forms.BoundField]:
        return [self[name] for name in IN_WORDS]

    def changed(self, loan: Loan) -> dict[str, Any]:
        """What the form says otherwise than the loan."""
        return {
            name: value for name, value in self.values().items() if value != getattr(loan, name)
        }

    def values(self) -> dict[str, Any]:
        """All fields of the loan."""
        return {name: value for name, value in self.cleaned_data.items() if name != "is_meant"}


class VenueForm(forms.Form):
    """One stop of the tour. A row that is left empty is none."""

    name = forms.CharField(max_length=200, label="Venue")
    first_day = forms.DateField(widget=day_input(), label="First day")
    last_day = forms.DateField(widget=day_input(), label="Last day")


class BaseVenues(BaseFormSet[VenueForm]):
    def add_fields(self, form: VenueForm, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = "Take this one out"


Venues = formset_factory(
    VenueForm, formset=BaseVenues, extra=SPARE_VENUES, max_num=30, can_delete=True
)


def venues_form(given: Any, venues: list[dict[str, str]]) -> BaseFormSet[VenueForm]:
    initial = [
        venue | {name: date.fromisoformat(venue[name]) for name in DAY_NAMES} for venue in venues
    ]
    return Venues(given, initial=initial, prefix="venues")


def venues_of(venues: BaseFormSet[VenueForm]) -> list[dict[str, str]]:
    """As a loan holds them."""
    return [
        {
            "name": row.cleaned_data["name"],
            **{name: row.cleaned_data[name].isoformat() for name in DAY_NAMES},
        }
        for row in venues
        if row.cleaned_data and not row.cleaned_data.get("DELETE")
    ]


class AddObjectsForm(forms.Form):
    must_be_meant = False
    numbers = forms.CharField(
        widget=forms.Textarea, label="Accession numbers", help_text="A number a line."
    )
    crate = forms.CharField(required=False, max_length=60, label="Crate")
    is_meant = meant_field()

    def clean_numbers(self) -> list[Object]:
        """The objects, in the order they were written."""
        wanted = [line.strip() for line in self.cleaned_data["numbers"].splitlines()]
        wanted = list(dict.fromkeys(filter(None, wanted)))
        found = {
            item.accession_number: item
            for item in Object.objects.filter(accession_number__in=wanted, deleted_at=None)
        }
        unknown = [number for number in wanted if number not in found]
        if unknown:
            raise forms.ValidationError(
                f"The catalogue has no {', '.join(unknown)}: check the figures, or search below."
            )
        return [found[number] for number in wanted]


class LoanedObjectForm(forms.ModelForm):
    class Meta:
        model = LoanedObject
        fields = ("crate", "frame", "glazing", "order")
        labels = {"order": "Place in the list"}

    def changed(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.changed_data}


class PassForm(forms.Form):
    holder = forms.CharField(
        max_length=150,
        label="Name of the courier",
        help_text="What is done with the pass is kept under this name.",
    )


class BeginForm(forms.Form):
    """A check that is begun at the desk, and gone on with on a tablet."""

    stage = forms.ChoiceField(choices=LoanCheck.Stage.choices)
    venue = forms.CharField(required=False, max_length=200, label="Where")


class PackingForm(AnyDecimals):
    """What is noted as an object is packed."""

    class Meta:
        model = LoanCheck
        fields = (
            "crate",
            "seals",
            "seals_whole",
            "glazing",
            "logger",
            "temperature_c",
            "humidity_percent",
            "note",
        )
        labels = {
            "seals": "Seal numbers",
            "seals_whole": "Seals are whole",
            "logger": "Data logger",
            "temperature_c": "Temperature, °C",
            "humidity_percent": "Relative humidity, %",
        }
        help_texts = {"logger": "Its number, and where it lies in the crate."}


class HandForm(forms.Form):
    """A signature on the glass. Left without a name, it is none.

    Its strokes are drawn by sign-pad.js: ``[[[x, y], …], …]`` in thousandths of the width of the
    field; what they may be is said by the serializer.
    """

    role = forms.ChoiceField(choices=Signature.Role.choices)
    name = forms.CharField(required=False, max_length=120)
    of = forms.CharField(required=False, max_length=200, label="Museum or firm")
    strokes = forms.CharField(required=False, widget=forms.HiddenInput)
    by_name = forms.BooleanField(
        required=False, label="Sign with the name alone, without a drawing"
    )

    def __init__(self, *args: Any, is_needed: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_needed = is_needed

    def clean_strokes(self) -> Any:
        try:
            return json.loads(self.cleaned_data["strokes"] or "[]")
        except ValueError:
            raise forms.ValidationError(
                "The drawing did not arrive whole: clear the field and sign again."
            ) from None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        name, strokes = cleaned.get("name", "").strip(), cleaned.get("strokes")
        if not name and (self.is_needed or strokes or cleaned.get("by_name")):
            self.add_error("name", "Write the name of whoever signs.")
        elif name and strokes == [] and not cleaned.get("by_name"):
            self.add_error(
                "strokes", "Draw the signature in the field, or tick that the name alone signs."
            )
        return cleaned

    def hand(self) -> Hand | None:
        given = self.cleaned_data
        name = given["name"].strip()
        strokes = [] if given["by_name"] else given["strokes"]
        return Hand(given["role"], name, given["of"].strip(), strokes) if name else None
