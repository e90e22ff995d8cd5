"""What was done: steps, the photographs of the state before, during and after, the outcome."""

from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.examination.models import Photograph
from survey.ids import new_id
from survey.treatment.models.proposals import ProposalStep, TreatmentProposal
from survey.treatment.models.steps import Step


class TreatmentRecord(models.Model):
    """The treatment that a proposal led to. Once closed it is fixed."""

    id = models.UUIDField(primary_key=True, default=new_id)
    proposal = models.OneToOneField(
        TreatmentProposal, on_delete=models.PROTECT, related_name="record"
    )
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    begun_at = models.DateTimeField(default=timezone.now)
    outcome = models.TextField(blank=True)
    # When the object is to be looked at again.
    look_again_on = models.DateField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            # What is due to be looked at again.
            models.Index(
                fields=["look_again_on"],
                condition=models.Q(look_again_on__isnull=False),
                name="look_again_by_day",
            ),
        ]

    def __str__(self) -> str:
        return f"Treatment of {self.proposal.object.accession_number}"

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None


class RecordStep(Step):
    """One step as it was done."""

    id = models.UUIDField(primary_key=True, default=new_id)
    record = models.ForeignKey(TreatmentRecord, on_delete=models.PROTECT, related_name="steps")
    # The proposed one that it carries out; none where it was not foreseen.
    proposed = models.ForeignKey(
        ProposalStep, on_delete=models.PROTECT, null=True, blank=True, related_name="done"
    )
    done_on = models.DateField()
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    # What was seen while it was done.
    seen = models.TextField(blank=True)

    class Meta:
        ordering = ["done_on", "order", "id"]

    def wrong(self) -> dict[str, Any]:
        wrong = super().wrong()
        if self.done_on and self.done_on > timezone.localdate():
            wrong["done_on"] = "This day lies ahead: note a step once it is done."
        begun = timezone.localdate(self.record.begun_at)
        if self.done_on and self.done_on < begun:
            wrong["done_on"] = (
                f"The treatment was begun on {begun:%-d %B %Y}: give that day or a later one."
            )
        return wrong


class ChosenPhotograph(models.Model):
    """A photograph of an examination, taken into a treatment's record."""

    class Moment(models.TextChoices):
        BEFORE = "before", "Before"
        DURING = "during", "During"
        AFTER = "after", "After"

    record = models.ForeignKey(TreatmentRecord, on_delete=models.PROTECT, related_name="chosen")
    photograph = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="+")
    moment = models.CharField(max_length=8, choices=Moment.choices)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["record", "photograph"], name="one_moment_a_photograph")
        ]
