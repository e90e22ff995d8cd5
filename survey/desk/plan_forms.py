"""Forms of the week plan: a pin, an estimate, a person's week, skills and absences."""

from collections.abc import Iterable
from typing import Any

from django import forms

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.desk.exposure_forms import day_input
from survey.desk.forms import kinds_of_work
from survey.triage.board import Row
from survey.triage.week import DAYS, MOST_SETTING_DAYS


class PinForm(forms.Form):
    person = forms.ChoiceField(label="Who begins it")
    day = forms.DateField(label="On which day", widget=day_input())

    def __init__(self, *args: Any, people: Iterable[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {str(one.pk): one for one in people}
        chosen = self.fields["person"]
        assert isinstance(chosen, forms.ChoiceField)
        chosen.choices = [(key, one.name) for key, one in self.people.items()]

    @property
    def chosen(self) -> Person:
        return self.people[self.cleaned_data["person"]]


def hours_field(label: str, **more: Any) -> forms.FloatField:
    return forms.FloatField(
        label=label, widget=forms.NumberInput(attrs={"step": "any", "min": 0}), **more
    )


class EstimateForm(forms.Form):
    low = hours_field("If all goes well, h")
    likely = hours_field("Likely, h")
    high = hours_field("If it goes badly, h")
    setting_days = forms.IntegerField(
        label="Days of setting",
        min_value=0,
        max_value=MOST_SETTING_DAYS,
        initial=0,
        help_text="Drying, framing, transport: days that must lie between the work and its date.",
    )
    after = forms.ChoiceField(
        label="Waits for",
        required=False,
        help_text="Work that must be done before. It stays in its queue meanwhile.",
    )

    def __init__(self, *args: Any, others: Iterable[Row], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        after = self.fields["after"]
        assert isinstance(after, forms.ChoiceField)
        after.choices = [("", "Nothing"), *((str(row.key), row.name) for row in others)]


class WeekForm(forms.Form):
    """Hours on each day of an ordinary week, and skills as ``studio: kind of work``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for day in DAYS:
            self.fields[day] = hours_field(day.capitalize(), initial=0)
        for studio, label in Object.Studio.choices:
            self.fields[f"skills-{studio}"] = forms.MultipleChoiceField(
                label=f"{label} studio",
                choices=kinds_of_work(),
                required=False,
                widget=forms.CheckboxSelectMultiple,
            )

    @property
    def days(self) -> list[forms.BoundField]:
        return [self[day] for day in DAYS]

    @property
    def studios(self) -> list[forms.BoundField]:
        return [self[f"skills-{studio}"] for studio in Object.Studio.values]

    @property
    def hours(self) -> dict[str, float]:
        return {day: self.cleaned_data[day] for day in DAYS}

    @property
    def skills(self) -> list[tuple[str, str]]:
        return [
            (studio, kind)
            for studio in Object.Studio.values
            for kind in self.cleaned_data[f"skills-{studio}"]
        ]


class AbsenceForm(forms.Form):
    first_day = forms.DateField(label="First day", widget=day_input())
    last_day = forms.DateField(label="Last day", widget=day_input())
    reason = forms.CharField(label="Why", max_length=200, required=False)
