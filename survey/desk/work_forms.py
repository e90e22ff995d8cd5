"""Forms for what is done with a piece of work; what is allowed is triage's to say."""

from collections.abc import Iterable, Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.desk.forms import kinds_of_work
from survey.triage.board import Row
from survey.triage.parting import MOST_PARTS, Share

UNCHANGED = ("", "As it is")
DAY = {"invalid": "Give a day, as 2026-05-03.", "required": "Give the day on which it comes back."}


def reason_field(label: str = "Why") -> forms.CharField:
    """Whether it says anything is for triage to tell, which has the sentence."""
    return forms.CharField(required=False, label=label)


class MoveWorkForm(forms.Form):
    """To another place, by number or by a step, or to another queue."""

    STEPS = (("first", "To the first place"), ("up", "Up one"), ("down", "Down one"))

    place = forms.IntegerField(required=False, label="Place")
    step = forms.ChoiceField(required=False, choices=[("", ""), *STEPS])
    studio = forms.ChoiceField(required=False, choices=[UNCHANGED, *Object.Studio.choices])
    kind_of_work = forms.ChoiceField(required=False, label="Kind of work")
    reason = reason_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [UNCHANGED, *kinds_of_work()]
        self.fields["kind_of_work"].choices = choices  # type: ignore[attr-defined]

    def place_from(self, standing_at: int | None) -> int | None:
        """The place that is meant, of work that stands at this one."""
        step = self.cleaned_data["step"]
        if not step or standing_at is None:
            return self.cleaned_data["place"]
        return {"first": 1, "up": standing_at - 1, "down": standing_at + 1}[step]


class HoldForm(forms.Form):
    until = forms.DateField(
        label="Comes back on",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages=DAY,
        help_text="By itself. With other work named below, the day by which that is expected.",
    )
    after = forms.ChoiceField(required=False, label="Or once this other work is done")
    reason = reason_field()

    def __init__(self, *args: Any, others: Iterable[Row] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "None")] + [
            (str(row.key), f"{row.name}: {row.object.title}") for row in others
        ]
        self.fields["after"].choices = choices  # type: ignore[attr-defined]


class SplitForm(forms.Form):
    """A line for each part: words, hours, kind of work. Empty lines are none."""

    SHOWN = 4

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, MOST_PARTS + 1):
            self.fields[f"words-{number}"] = forms.CharField(required=False)
            self.fields[f"hours-{number}"] = forms.FloatField(
                required=False,
                error_messages={"invalid": f"Part {number}: hours are a number, as 2.5."},
                widget=forms.NumberInput(attrs={"step": "any", "min": 0}),
            )
            self.fields[f"kind-{number}"] = forms.ChoiceField(
                required=False, choices=[UNCHANGED, *kinds_of_work()]
            )

    def lines(self) -> Iterator[tuple[int, Any, Any, Any]]:
        """Number and fields of each line that is shown."""
        used = [n for n in range(1, MOST_PARTS + 1) if any(self._given(n))]
        for number in range(1, max(self.SHOWN, *used, 0) + 1):
            words, hours, kind = (self[f"{name}-{number}"] for name in ("words", "hours", "kind"))
            yield number, words, hours, kind

    def shares(self) -> list[Share]:
        return [
            Share(
                self.cleaned_data[f"words-{number}"],
                self.cleaned_data[f"hours-{number}"],
                self.cleaned_data[f"kind-{number}"],
            )
            for number in range(1, MOST_PARTS + 1)
            if any(self._given(number))
        ]

    def _given(self, number: int) -> list[str]:
        return [self.data.get(f"{name}-{number}", "").strip() for name in ("words", "hours")]


class MergeForm(forms.Form):
    with_work = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Do it as one with"
    )
    words = forms.CharField(
        required=False,
        label="What is done",
        help_text="Left empty, it says what the recommendations say.",
    )
    hours = forms.FloatField(
        required=False,
        label="Hours for all of it",
        widget=forms.NumberInput(attrs={"step": "any", "min": 0}),
        error_messages={"invalid": "Hours are a number, as 2.5."},
        help_text="Left empty, those of the recommendations are added up.",
    )
    kind_of_work = forms.ChoiceField(required=False, label="Kind of work")

    def __init__(self, *args: Any, others: Iterable[Row] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, choices in {
            "with_work": [(str(row.key), f"{row.name}: {row.object.title}") for row in others],
            "kind_of_work": [UNCHANGED, *kinds_of_work()],
        }.items():
            self.fields[name].choices = choices  # type: ignore[attr-defined]


class HandOverForm(forms.Form):
    to = forms.ChoiceField(label="To", error_messages={"required": "Choose a person or a studio."})
    reason = reason_field("What is handed over, and why")

    def __init__(self, *args: Any, people: Iterable[Person] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {f"person-{person.pk}": person for person in people}
        self.studios = {f"studio-{code}": code for code in Object.Studio.values}
        names = dict(Object.Studio.choices)
        choices = [
            ("", "Choose"),
            ("People", [(key, person.name) for key, person in self.people.items()]),
            ("Studios", [(key, f"{names[code]} studio") for key, code in self.studios.items()]),
        ]
        self.fields["to"].choices = choices  # type: ignore[attr-defined]

    def receiver(self) -> dict[str, Any]:
        """What :func:`survey.triage.handing.hand_over` takes."""
        to = self.cleaned_data["to"]
        return {"to_person": self.people.get(to), "to_studio": self.studios.get(to, "")}


def sentences(refusal: ValidationError | forms.Form) -> list[str]:
    """All that is wrong, each sentence once."""
    if isinstance(refusal, ValidationError):
        return list(dict.fromkeys(refusal.messages))
    return list(dict.fromkeys(str(said) for field in refusal.errors.values() for said in field))
