"""Surveys of a collection: what was drawn of which store, and the walks to see it.

A survey with its strata and places lives at the desk alone. What a walk passes goes to the tablet
as stops, which are in the change log like the visit they belong to.
"""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from survey.catalogue.models import Location, Object
from survey.examination.models import Visit
from survey.sync.models import SyncedRow


class Stop(SyncedRow):
    """One object of a walk that was handed out: look at this next."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="stops")
    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="stops")
    # Place in the walk, from 1.
    order = models.PositiveIntegerField()
    # Why it could not be examined, in words; empty otherwise.
    missing = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["order"]


class CollectionSurvey(models.Model):
    """A sample of a store, as it was designed and drawn."""

    class DividedBy(models.TextChoices):
        NOTHING = "", "Not divided"
        ROOM = "room", "Room"
        UNIT = "unit", "Rack, chest or cabinet"
        SHELF = "shelf", "Shelf, drawer or box"
        MEDIUM = "medium", "Medium"

    name = models.CharField(max_length=100)
    # Null is all places of the tree.
    branch = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    studio = models.CharField(max_length=16, choices=Object.Studio.choices, blank=True)
    divided_by = models.CharField(max_length=8, choices=DividedBy.choices, blank=True)
    # Percentage points, ±; null where so many objects were asked for instead.
    margin_points = models.FloatField(null=True, blank=True)
    expected_percent = models.FloatField()
    confidence_percent = models.FloatField()
    minutes_an_object = models.FloatField(
        validators=[
            MinValueValidator(0.5, "Give the minutes for one object: at least half a minute."),
            MaxValueValidator(480, "Give the minutes for one object: no more than a day's, 480."),
        ]
    )
    # The department's own rule for new boxes.
    objects_a_box = models.PositiveIntegerField(
        validators=[
            MinValueValidator(1, "At least one object goes into a box."),
            MaxValueValidator(1000, "Give how many objects go into one box: no more than 1,000."),
        ]
    )
    # Objects that would belong to it but stand nowhere in the tree, so that no walk passes them.
    away = models.PositiveIntegerField(default=0)
    # With it the same sample of the same store can be drawn again.
    seed = models.PositiveIntegerField()
    designed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    designed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-designed_at", "-id"]

    def __str__(self) -> str:
        return self.name


class SurveyStratum(models.Model):
    """One part of the store, with as many objects as it held when the sample was drawn."""

    survey = models.ForeignKey(CollectionSurvey, on_delete=models.CASCADE, related_name="strata")
    order = models.PositiveIntegerField()
    name = models.CharField(max_length=300)
    size = models.PositiveIntegerField()

    class Meta:
        ordering = ["order"]
        verbose_name_plural = "survey strata"

    def __str__(self) -> str:
        return self.name


class SurveyPlace(models.Model):
    """One object that was drawn. No other takes its place when it is not found."""

    survey = models.ForeignKey(CollectionSurvey, on_delete=models.CASCADE, related_name="places")
    stratum = models.ForeignKey(SurveyStratum, on_delete=models.CASCADE, related_name="places")
    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="survey_places")
    # Where it came in the walk along the shelves when it was drawn, from 1.
    order = models.PositiveIntegerField()
    # Null until it was handed out.
    stop = models.OneToOneField(
        Stop, on_delete=models.PROTECT, null=True, blank=True, related_name="survey_place"
    )

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(fields=["survey", "object"], name="drawn_once_a_survey"),
        ]
