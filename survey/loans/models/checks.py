"""Checks of objects on loan: the points that were known before, one by one, and who signed."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from survey.examination.models import Examination, Observation, Photograph
from survey.loans.models.lending import COLDEST_C, WARMEST_C, Loan
from survey.sync.models import SyncedRow


class LoanCheck(SyncedRow):
    """One object looked at once on its loan, against its last signed state.

    What is newly seen stands in the check's examination. Once ``statement`` is filled the check
    is signed and fixed, with its examination.
    """

    class Stage(models.TextChoices):
        OUTGOING = "outgoing", "Outgoing"
        ARRIVAL = "arrival", "Arrival"
        INTERIM = "interim", "Interim"
        RETURN = "return", "Return"

    class Answer(models.TextChoices):
        NOT_SAID = "", "Not said"
        YES = "yes", "Yes"
        NO = "no", "No"

    class Glazing(models.TextChoices):
        NOT_SAID = "", "Not said"
        NONE = "none", "Not glazed"
        WHOLE = "whole", "Whole"
        SCRATCHED = "scratched", "Scratched or chipped"
        CRACKED = "cracked", "Cracked"
        BROKEN = "broken", "Broken"

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="checks")
    examination = models.OneToOneField(
        Examination, on_delete=models.PROTECT, related_name="loan_check"
    )
    # The state it is held against; none where nobody had signed any.
    earlier = models.ForeignKey(
        Examination, on_delete=models.PROTECT, null=True, blank=True, related_name="checks_after"
    )
    stage = models.CharField(max_length=16, choices=Stage.choices)
    venue = models.CharField(max_length=200, blank=True)
    # Packing or unpacking.
    crate = models.CharField(max_length=60, blank=True)
    seals = models.CharField(max_length=200, blank=True)
    seals_whole = models.CharField(max_length=4, choices=Answer.choices, blank=True)
    hours_acclimatised = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(1000)]
    )
    # The data logger's number, and what it shows, in words.
    logger = models.CharField(max_length=300, blank=True)
    temperature_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(COLDEST_C), MaxValueValidator(WARMEST_C)],
    )
    humidity_percent = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    glazing = models.CharField(max_length=12, choices=Glazing.choices, blank=True)
    note = models.TextField(blank=True)
    # What was signed, word for word: JSON text; see statements.py. Empty until then.
    statement = models.TextField(blank=True)

    class Meta:
        ordering = ["id"]

    @property
    def is_signed(self) -> bool:
        return bool(self.statement)


class PointCheck(SyncedRow):
    """How an observation of an earlier state was found at a check.

    No answer, with a reason: it could not be checked.
    """

    class Answer(models.TextChoices):
        NOT_SAID = "", "Left open"
        SAME = "same", "Same"
        CHANGED = "changed", "Changed"
        NOT_VISIBLE = "not-visible", "Not visible"

    loan_check = models.ForeignKey(LoanCheck, on_delete=models.PROTECT, related_name="points")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="checked")
    answer = models.CharField(max_length=12, choices=Answer.choices, blank=True)
    # What changed, or why it is left open or cannot be seen.
    reason = models.TextField(blank=True)
    photograph = models.ForeignKey(
        Photograph, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # The same observation in the check's examination, as it stands now.
    now = models.ForeignKey(
        Observation, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["id"]


class Signature(SyncedRow):
    """One person's name on the glass below a check's statement. Never altered."""

    class Role(models.TextChoices):
        COURIER = "courier", "Courier"
        RECEIVER = "receiver", "Receiver"
        CONSERVATOR = "conservator", "Conservator"
        REGISTRAR = "registrar", "Registrar"

    loan_check = models.ForeignKey(LoanCheck, on_delete=models.PROTECT, related_name="signatures")
    role = models.CharField(max_length=16, choices=Role.choices)
    name = models.CharField(max_length=120)
    # The museum or the firm that the person signs for.
    of = models.CharField(max_length=200, blank=True)
    # [[[x, y], …], …]: strokes, in thousandths of the width of the field that was signed. None:
    # signed with the name alone.
    strokes = models.JSONField()
    signed_at = models.DateTimeField(default=timezone.now)
    # Of the statement's bytes, UTF-8.
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["signed_at"]
