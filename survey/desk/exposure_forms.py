"""Forms of the record of light: displays, a proposal, an object's category, the limits."""

from typing import Any

from django import forms

from survey.loans.models import Display, ExposureLimit, Responsivity
from survey.loans.services import KEPT


def day_input() -> forms.DateInput:
    """A day, in the one form that browsers take back."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class AnyDecimals(forms.ModelForm):
    """A browser takes any number there; what it may be is said by the model, in sentences."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, forms.FloatField):
                field.widget.attrs["step"] = "any"
                value = self.initial.get(name)
                # ``7``, not ``7.0``.
                self.initial[name] = value if value is None else f"{value:.10g}"


LABELS = {
    "place": "Exhibition or place",
    "first_day": "First day",
    "last_day": "Last day",
    "lux": "Illuminance, lx",
    "hours_a_day": "Hours a day",
    "days_a_week": "Days a week",
    "hours_in_all": "Or hours in all",
    "ultraviolet_uw_lm": "Ultraviolet, µW/lm",
    "basis": "The light was",
    "uncertainty_percent": "Uncertainty, ± %",
}
UNCERTAINTY_HELP = (
    "One standard uncertainty of the lux hours. About 10 % with a calibrated meter and known "
    "hours, about 30 % for an estimate: common practice, no source."
)


class DisplayForm(AnyDecimals):
    class Meta:
        model = Display
        fields = KEPT
        labels = LABELS
        help_texts = {
            "last_day": "The planned one, while it hangs or is yet to hang.",
            "hours_in_all": "Over the whole display, where a logger or a log book tells them.",
            "ultraviolet_uw_lm": "Empty if it was not measured.",
            "uncertainty_percent": UNCERTAINTY_HELP,
        }
        widgets = {"first_day": day_input(), "last_day": day_input()}


class ProposalForm(AnyDecimals):
    """A display that is only thought of. The rules are those of a display; nothing is saved."""

    class Meta:
        model = Display
        fields = (
            "first_day",
            "last_day",
            "lux",
            "hours_a_day",
            "days_a_week",
            "uncertainty_percent",
        )
        labels = LABELS
        widgets = {"first_day": day_input(), "last_day": day_input()}


class ResponsivityForm(forms.ModelForm):
    class Meta:
        model = Responsivity
        fields = ("category", "reason")
        labels = {"category": "Responsivity to light", "reason": "Why"}
        help_texts = {
            "category": "By the part that answers most: one fugitive colour makes the whole high.",
            "reason": "What it is drawn or coloured with, and how that is known.",
        }


class LimitForm(AnyDecimals):
    class Meta:
        model = ExposureLimit
        fields = ("category", "lux", "lux_hours_a_year", "reason")
        labels = {
            "lux": "Limiting illuminance, lx",
            "lux_hours_a_year": "Limiting exposure, lx·h in a calendar year",
            "reason": "Why",
        }
