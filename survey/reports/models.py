"""Reports that were made of examinations: documents for people who do not come to the desk.

A report tells the record as it stood when it was made, and is never altered: after an amendment
another is made beside it. Nothing here is carried by tablets.
"""

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.examination.models import Examination
from survey.ids import new_id


class Report(models.Model):
    """One PDF of one examination. Its bytes are a StoredFile, once it is made."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Being made"
        DONE = "done", "Made"
        FAILED = "failed", "Not made"

    id = models.UUIDField(primary_key=True, default=new_id)
    examination = models.ForeignKey(Examination, on_delete=models.PROTECT, related_name="reports")
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
                fields=["examination"],
                condition=models.Q(state__in=["waiting", "running"]),
                name="one_open_report",
            )
        ]
        indexes = [
            # The reports on an examination's page, newest first.
            models.Index(fields=["examination", "-asked_at"], name="report_of_examination"),
        ]

    def __str__(self) -> str:
        return f"Report of {self.examination_id}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)

    @property
    def file_name(self) -> str:
        """``PE.1987.3 examined 2026-05-03, report of 2026-05-04.pdf``, safe on every disk."""
        number = self.examination.object.accession_number
        plain = "".join(one if one.isalnum() or one in ".-_ " else "-" for one in number)
        made = f"{self.done_at or self.asked_at:%Y-%m-%d}"
        return f"{plain} examined {self.examination.started_at:%Y-%m-%d}, report of {made}.pdf"
