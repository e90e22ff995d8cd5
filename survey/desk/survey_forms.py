"""Forms of surveys: the design of a sample, handing out a walk, and what was not found."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from survey.access.models import Person
from survey.catalogue.models import Location, Object
from survey.collection.design import CannotSample
from survey.collection.models import CollectionSurvey
from survey.collection.queries import Plan, Proposal, propose
from survey.desk.forms import places

ANY_STEP = {"step": "any"}


class DesignForm(forms.Form):
    """What a person asks of a survey. ``proposal`` is what it would draw, once it is valid."""

    name = forms.CharField(max_length=100, label="Name of the survey")
    branch = forms.ChoiceField(required=False, label="Which part of the store")
    studio = forms.ChoiceField(
        required=False, choices=[("", "All studios"), *Object.Studio.choices]
    )
    divided_by = forms.ChoiceField(
        required=False,
        choices=CollectionSurvey.DividedBy.choices,
        label="Divided by",
        help_text="Each part is told by itself, and none is passed over.",
    )
    margin_points = forms.FloatField(
        required=False,
        label="Margin wanted, ± points",
        widget=forms.NumberInput(attrs=ANY_STEP),
        help_text="± 5 points: a share of 30\u00a0% is told as 25 to 35\u00a0%.",
    )
    number = forms.IntegerField(
        required=False,
        label="Or so many objects",
        help_text="Instead of a margin, where time sets the number.",
    )
    expected_percent = forms.FloatField(
        label="Share expected, %",
        widget=forms.NumberInput(attrs=ANY_STEP),
        help_text="50\u00a0% asks for most objects, and is safe for any share.",
    )
    confidence_percent = forms.FloatField(
        label="Confidence, %",
        widget=forms.NumberInput(attrs=ANY_STEP),
        help_text="95 %: of twenty such intervals, one misses.",
    )
    minutes_an_object = forms.FloatField(
        label="Minutes an object",
        widget=forms.NumberInput(attrs=ANY_STEP),
        help_text="Finding it, examining it and putting it back.",
    )
    objects_a_box = forms.IntegerField(
        label="Objects a box",
        help_text="Your own rule for new boxes: how many objects that need one go into it.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "The whole store"), *places()]
        self.fields["branch"].choices = choices  # type: ignore[attr-defined]
        self.proposal: Proposal | None = None

    @classmethod
    def beginning(cls) -> "DesignForm":
        """With the figures that a survey begins with."""
        plan = Plan()
        initial = {
            name: f"{value:g}" if isinstance(value, float) else value
            for name in cls.base_fields
            if (value := getattr(plan, name, None)) is not None
        }
        return cls(initial=initial)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if self.errors:
            return given
        if (given["margin_points"] is None) == (given["number"] is None):
            raise ValidationError(
                "Say one of the two: the margin you want, or how many objects are to be drawn."
            )
        self._check_figures(given)
        try:
            self.proposal = propose(self.plan())
        except CannotSample as refusal:
            raise ValidationError(str(refusal)) from refusal
        return given

    def _check_figures(self, given: dict[str, Any]) -> None:
        """The rules of the figures that are only kept; the others are said by the proposal."""
        for name in ("minutes_an_object", "objects_a_box"):
            field: Any = CollectionSurvey._meta.get_field(name)
            try:
                field.run_validators(given[name])
            except ValidationError as refusal:
                self.add_error(name, refusal)

    def plan(self) -> Plan:
        given = dict(self.cleaned_data)
        del given["name"]
        key = given.pop("branch")
        return Plan(branch=Location.objects.get(pk=key) if key else None, **given)


class HandOutForm(forms.Form):
    """The next objects of a sample, to somebody."""

    to = forms.ModelChoiceField(Person.objects.none(), label="To", empty_label=None)
    number = forms.IntegerField(label="How many objects")
    words = forms.CharField(
        required=False,
        label="What to mind on the way",
        widget=forms.Textarea,
        max_length=1000,
        help_text="Goes with the visit to the tablet.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        walkers = Person.objects.filter(is_active=True).exclude(role=Person.Role.COURIER)
        field = self.fields["to"]
        field.queryset = walkers.order_by("first_name", "username")  # type: ignore[attr-defined]
        field.label_from_instance = lambda person: person.name  # type: ignore[attr-defined]


class MissingForm(forms.Form):
    """Why an object could not be examined; nothing takes it back."""

    why = forms.CharField(required=False, max_length=300, label="Why it could not be examined")
