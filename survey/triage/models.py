"""What the priority rule needs beside the examinations: weights, needs and readiness."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Recommendation
from survey.triage import rule
from survey.triage.kept import CalendarFeed as CalendarFeed
from survey.triage.kept import SavedFilter as SavedFilter
from survey.triage.week import Absence as Absence
from survey.triage.week import Estimate as Estimate
from survey.triage.week import Pin as Pin
from survey.triage.week import Skill as Skill
from survey.triage.week import WeekPlan as WeekPlan
from survey.triage.week import WorkingWeek as WorkingWeek
from survey.triage.work import HandOver as HandOver
from survey.triage.work import Hold as Hold
from survey.triage.work import Piece as Piece
from survey.triage.work import Placement as Placement


class Weights(models.Model):
    """One version of the department's weights. The newest holds; older ones are kept."""

    risk = models.PositiveSmallIntegerField(default=rule.Weights.risk)
    loss = models.PositiveSmallIntegerField(default=rule.Weights.loss)
    significance = models.PositiveSmallIntegerField(default=rule.Weights.significance)
    need = models.PositiveSmallIntegerField(default=rule.Weights.need)
    readiness = models.PositiveSmallIntegerField(default=rule.Weights.readiness)
    reason = models.CharField(max_length=300, blank=True)
    saved_at = models.DateTimeField(default=timezone.now)
    saved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )

    class Meta:
        ordering = ["-id"]
        verbose_name_plural = "weights"


class Need(models.Model):
    """Why an object is wanted, and by when."""

    class Kind(models.TextChoices):
        EXHIBITION = "exhibition", "Exhibition"
        LOAN = "loan", "Loan"
        RESEARCH = "research", "Research"

    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="needs")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    title = models.CharField(max_length=200)
    due = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["due"]

    def __str__(self) -> str:
        return self.title


class Readiness(models.Model):
    """Whether recommended work could start: said at the desk. Imaging is read from the record."""

    recommendation = models.OneToOneField(
        Recommendation, on_delete=models.PROTECT, related_name="readiness"
    )
    space = models.BooleanField(default=False)
    materials = models.BooleanField(default=False)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "readiness"
