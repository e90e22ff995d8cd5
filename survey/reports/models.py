"""Reports: documents for people who do not come to the desk.

A report tells the record as it stood when it was made, and is never altered: after an amendment
another is made beside it. Nothing here is carried by tablets.
"""

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.ids import new_id


class Report(models.Model):
    """One PDF about one record. Its bytes are a StoredFile, once it is made."""

    class Kind(models.TextChoices):
        EXAMINATION = "examination", "Examination report"
        LOAN_CHECK = "loan-check", "Loan check"
        LOAN_OUTGOING = "loan-outgoing", "All outgoing checks"
        LOAN_ARRIVAL = "loan-arrival", "All arrival checks"
        LOAN_INTERIM = "loan-interim", "All interim checks"
        LOAN_RETURN = "loan-return", "All return checks"
        PROPOSAL = "treatment-proposal", "Treatment proposal"
        TREATMENT = "treatment-record", "Treatment record"

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Being made"
        DONE = "done", "Made"
        FAILED = "failed", "Not made"

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.EXAMINATION)
    # Key of the record; its kind says of which model (``kinds/``).
    about = models.UUIDField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    # 0…1, and the step it is at, in words.
    progress = models.FloatField(default=0.0)
    step = models.CharField(max_length=120, blank=True)
    # Why it failed; else what it lacks, such as a photograph whose file is gone.
    sentence = models.TextField(blank=True)
    sha256 = models.CharField(max_length=64, blank=True, db_index=True)
    size_bytes = models.PositiveBigIntegerField(null=True, blank=True)
    pages = models.PositiveIntegerField(null=True, blank=True)
    # The record it tells, in words, and the number of the last change to any part of it.
    tells = models.CharField(max_length=300, blank=True)
    revision = models.BigIntegerField(null=True, blank=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    done_at = models.DateTimeField(null=True, blank=True)
    # How often it was begun: one that stops the worker again and again is given up.
    begun = models.PositiveSmallIntegerField(default=0)
    made_with = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            # Asked twice while it waits, it is one report.
            models.UniqueConstraint(
                fields=["kind", "about"],
                condition=models.Q(state__in=["waiting", "running"]),
                name="one_open_report",
            )
        ]
        indexes = [
            # The reports on a record's page, newest first.
            models.Index(fields=["kind", "about", "-asked_at"], name="report_about"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.about}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)
