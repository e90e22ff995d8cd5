"""A proposal for the treatment of one object, its steps, and what was decided on it."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Examination, Recommendation
from survey.ids import new_id
from survey.treatment.models.steps import Step


class TreatmentProposal(models.Model):
    """What is meant to be done to an object, why, at what risk, and what else could be done."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        FORWARD = "forward", "Put forward"
        APPROVED = "approved", "Approved"
        SENT_BACK = "sent-back", "Sent back"
        UNDER_WAY = "under-way", "Under way"
        DONE = "done", "Done"
        WITHDRAWN = "withdrawn", "Withdrawn"

    # While it may still be written in.
    OPEN = (State.DRAFT, State.SENT_BACK)
    # While it may still be withdrawn: nothing is begun.
    NOT_BEGUN = (*OPEN, State.FORWARD, State.APPROVED)

    id = models.UUIDField(primary_key=True, default=new_id)
    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="treatments")
    # The state of the object that it answers to.
    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="treatments"
    )
    # The piece of work that it takes up, if one was recommended.
    recommendation = models.ForeignKey(
        Recommendation,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="treatments",
    )
    state = models.CharField(max_length=12, choices=State.choices, default=State.DRAFT)
    aim = models.TextField()
    risks = models.TextField(blank=True)
    # What else could be done, doing nothing among it, and why it is not proposed.
    alternatives = models.TextField(blank=True)
    proposed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(default=timezone.now)
    put_forward_at = models.DateTimeField(null=True, blank=True)
    # Grows with every change to it, its steps or its record.
    revision = models.BigIntegerField(default=0)

    class Meta:
        ordering = ["-made_at", "-id"]
        indexes = [
            # The list of treatments, by what waits for whom.
            models.Index(fields=["state", "-made_at"], name="treatments_by_state"),
        ]

    def __str__(self) -> str:
        return f"{self.object.accession_number}: {self.aim[:60]}"

    @property
    def is_open(self) -> bool:
        return self.state in self.OPEN

    @property
    def decision(self) -> "Decision | None":
        """The last one."""
        return next(iter(self.decisions.all()), None)


class ProposalStep(Step):
    """One step as it is meant."""

    id = models.UUIDField(primary_key=True, default=new_id)
    proposal = models.ForeignKey(TreatmentProposal, on_delete=models.CASCADE, related_name="steps")

    class Meta:
        ordering = ["order", "id"]


class Decision(models.Model):
    """The head of department's word on a proposal, or its proposer's that it is withdrawn. Kept,
    whatever comes after."""

    class Word(models.TextChoices):
        APPROVED = "approved", "Approved"
        SENT_BACK = "sent-back", "Sent back"
        WITHDRAWN = "withdrawn", "Withdrawn"

    proposal = models.ForeignKey(
        TreatmentProposal, on_delete=models.PROTECT, related_name="decisions"
    )
    word = models.CharField(max_length=12, choices=Word.choices)
    reason = models.TextField(blank=True)
    # Its proposer's own word, because there was no other head of department.
    by_the_only_head = models.BooleanField(default=False)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
