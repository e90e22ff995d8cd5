"""What the week plan rests on, and the plans that were made: rows of the desk alone.

People's skills and hours, how long work may take, what a person pinned; and each plan with what
came of it. Pieces of work have their rows in ``work.py``.
"""

from datetime import date

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from survey.catalogue.models import Object
from survey.ids import new_id
from survey.triage.plan.problem import estimate_trouble
from survey.triage.work import Piece

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
HOURS_A_DAY = 24
# Bounds against slips of the pen.
MOST_HOURS = 2000
MOST_SETTING_DAYS = 365


class Skill(models.Model):
    """A kind of work that a person can do in a studio."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="skills"
    )
    studio = models.CharField(max_length=16, choices=Object.Studio.choices)
    kind_of_work = models.CharField(max_length=32)

    class Meta:
        ordering = ["person", "studio", "kind_of_work"]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "studio", "kind_of_work"], name="one_skill_a_person"
            )
        ]

    def __str__(self) -> str:
        return f"{self.studio}: {self.kind_of_work}"


def hours_of_a_day() -> "models.FloatField[float, float]":
    return models.FloatField(
        default=0.0,
        validators=[
            MinValueValidator(0, "Hours are never below zero: give 0 for a day off."),
            MaxValueValidator(HOURS_A_DAY, "A day has 24 hours: give no more."),
        ],
    )


class WorkingWeek(models.Model):
    """Hours that a person has for work on objects on each day of an ordinary week."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="working_week"
    )
    monday = hours_of_a_day()
    tuesday = hours_of_a_day()
    wednesday = hours_of_a_day()
    thursday = hours_of_a_day()
    friday = hours_of_a_day()
    saturday = hours_of_a_day()
    sunday = hours_of_a_day()

    def hours_on(self, day: date) -> float:
        return float(getattr(self, DAYS[day.weekday()]))

    @property
    def in_all(self) -> float:
        return sum(getattr(self, name) for name in DAYS)


class Absence(models.Model):
    """Days on which a person is not there, both counted."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="absences"
    )
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["first_day", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")), name="absence_ends_after_it_begins"
            )
        ]

    def clean(self) -> None:
        if self.first_day and self.last_day and self.last_day < self.first_day:
            raise ValidationError(
                {
                    "last_day": f"It ends on {self.last_day:%-d %B %Y}, before it begins on "
                    f"{self.first_day:%-d %B %Y}. Change one of the two days."
                }
            )

    def validate_constraints(self, exclude: object = None) -> None:
        """Said by :meth:`clean`, in sentences; the constraint holds what passes it by."""

    def covers(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day


class Estimate(models.Model):
    """How long a piece of work may take, in hours, and what it waits for.

    Where there is none, the recommendation's hours count as all three.
    """

    piece = models.OneToOneField(Piece, on_delete=models.PROTECT, related_name="estimate")
    low = models.FloatField(validators=[MaxValueValidator(MOST_HOURS)])
    likely = models.FloatField(validators=[MaxValueValidator(MOST_HOURS)])
    high = models.FloatField(validators=[MaxValueValidator(MOST_HOURS)])
    # Days that must lie between the day it is done and the day it is wanted.
    setting_days = models.PositiveSmallIntegerField(
        default=0, validators=[MaxValueValidator(MOST_SETTING_DAYS)]
    )
    # Work that must be done before, in the plan; it stays in its queue, unlike held work.
    after = models.ForeignKey(
        Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField(default=timezone.now)

    def clean(self) -> None:
        sentence = estimate_trouble(self.low, self.likely, self.high)
        if sentence:
            raise ValidationError(sentence[0].upper() + sentence[1:])


class Pin(models.Model):
    """A person put a piece of work at a person and a day; the plan keeps to it until it is ended.

    Nothing is overwritten, as with all that people do with work.
    """

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="pins")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["day", "at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(ended_at__isnull=True), name="one_open_pin"
            )
        ]


class WeekPlan(models.Model):
    """One plan that was made, or is being made. The newest finished one holds."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Being made"
        DONE = "done", "Made"
        FAILED = "failed", "Not made"

    id = models.UUIDField(primary_key=True, default=new_id)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    # 0…1, and the step it is at, in words.
    progress = models.FloatField(default=0.0)
    step = models.CharField(max_length=120, blank=True)
    # Why it failed.
    sentence = models.TextField(blank=True)
    # Fitted again after a pin, from the plan before.
    is_refit = models.BooleanField(default=False)
    # Of all that it rests on: another digest now means that something changed since.
    rests_on = models.CharField(max_length=64, blank=True)
    # See planning.result_of.
    result = models.JSONField(null=True, blank=True)
    bound = models.PositiveBigIntegerField(null=True, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    done_at = models.DateTimeField(null=True, blank=True)
    begun = models.PositiveSmallIntegerField(default=0)
    made_with = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        verbose_name = "plan"
        indexes = [
            # The plan that holds, on every page that shows it.
            models.Index(fields=["state", "-done_at"], name="plan_that_holds"),
        ]

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)
