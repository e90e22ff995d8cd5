"""Forms of treatments: a proposal's words, its steps, what was done, and the end."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from survey.catalogue.models import Object
from survey.desk.exposure_forms import AnyDecimals, day_input
from survey.examination.models import Examination, Recommendation
from survey.reports.words import day_in_words, entry_name
from survey.treatment.kinds import step_kinds
from survey.treatment.models import ChosenPhotograph, ProposalStep, RecordStep
from survey.treatment.services import STEP, WORDS
from survey.vocabulary import queries as vocabulary

LABELS = {
    "kind": "Kind of step",
    "what": "What is done, and where on the sheet",
    "material": "Material",
    "concentration": "Concentration, and what it is in",
    "hours": "Hours",
}
HELP = {
    "material": "What is put on the sheet or worked with, by its name and maker.",
    "concentration": "With its unit: 2 % w/v in deionised water. Empty where none is meant.",
}


class ExaminationField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        signed = "signed" if obj.is_signed else "not yet signed"
        return f"{day_in_words(obj.started_at)}, {obj.visit.name} ({signed})"


class RecommendationField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        kind = entry_name(vocabulary.kinds_of_work(), obj.kind_of_work)
        return f"{kind}: {obj.note[:80]}" if obj.note else kind


class ProposalWordsForm(forms.Form):
    """What a proposal says, beside its steps."""

    aim = forms.CharField(widget=forms.Textarea, label="Aim")
    risks = forms.CharField(
        widget=forms.Textarea,
        required=False,
        label="Risks",
        help_text="What could go wrong, and how it would be seen in time.",
    )
    alternatives = forms.CharField(
        widget=forms.Textarea,
        required=False,
        label="Alternatives",
        help_text="What else could be done, doing nothing among it, and why it is not proposed.",
    )

    def words(self) -> dict[str, str]:
        return {name: self.cleaned_data[name] for name in WORDS}


class NewProposalForm(ProposalWordsForm):
    """On which examination it rests, and which recommended work it takes up."""

    examination = ExaminationField(
        queryset=Examination.objects.none(), label="Answers to the examination of", empty_label=None
    )
    recommendation = RecommendationField(
        queryset=Recommendation.objects.none(),
        label="Recommended work it takes up",
        required=False,
        empty_label="None",
    )
    field_order = ("examination", "recommendation", *WORDS)

    def __init__(self, item: Object, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        examinations = (
            Examination.objects.filter(object=item, deleted_at=None)
            .select_related("visit")
            .order_by("-started_at", "-id")
        )
        work: QuerySet[Recommendation] = Recommendation.objects.filter(
            examination__in=examinations, deleted_at=None
        ).order_by("-examination__started_at", "id")
        self.fields["examination"].queryset = examinations  # type: ignore[attr-defined]
        self.fields["recommendation"].queryset = work  # type: ignore[attr-defined]


class StepForm(AnyDecimals):
    """A step as it is meant."""

    kind = forms.ChoiceField(label=LABELS["kind"])

    class Meta:
        model = ProposalStep
        fields = STEP
        labels = LABELS
        help_texts = HELP

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [  # type: ignore[attr-defined]
            (kind["code"], kind["name"]) for kind in step_kinds()
        ]

    def _post_clean(self) -> None:
        """The service weighs it, once and whole."""


class DoneStepForm(StepForm):
    """A step as it was done."""

    class Meta:
        model = RecordStep
        fields = ("proposed", "done_on", *STEP, "seen")
        labels = LABELS | {
            "proposed": "Carries out",
            "done_on": "Done on",
            "what": "What was done, and where on the sheet",
            "seen": "What was seen meanwhile",
        }
        help_texts = HELP
        widgets = {"done_on": day_input()}

    def __init__(self, *args: Any, steps: "QuerySet[ProposalStep]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["proposed"]
        field.queryset = steps
        field.empty_label = "No step of the proposal"
        field.label_from_instance = lambda step: f"{step.kind_name}: {step.what[:80]}"


class DecisionForm(forms.Form):
    reason = forms.CharField(
        widget=forms.Textarea,
        required=False,
        max_length=2000,
        label="Reason or condition",
        help_text="Needed to send it back.",
    )


class WithdrawForm(forms.Form):
    reason = forms.CharField(
        widget=forms.Textarea, max_length=2000, label="Why it is withdrawn", required=False
    )


class CloseForm(forms.Form):
    outcome = forms.CharField(
        widget=forms.Textarea,
        label="Outcome",
        help_text="What the treatment reached, what it did not, and what is to be watched.",
    )
    look_again_on = forms.DateField(
        widget=day_input(),
        label="To be looked at again on",
        help_text="It then stands on the object's page until somebody has looked.",
    )


class MomentForm(forms.Form):
    moment = forms.ChoiceField(
        choices=ChosenPhotograph.Moment.choices,
        widget=forms.RadioSelect,
        label="They show the state",
    )
