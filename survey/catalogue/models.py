"""Objects, the tree of places they stand in, and their moves."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from survey.sync.models import SyncedRow

# The largest sheet anyone is likely to own, with room to spare: a bound against slips.
LONGEST_SHEET_MM = 10_000


class Location(SyncedRow):
    class Kind(models.TextChoices):
        SITE = "site", "Site"
        BUILDING = "building", "Building"
        ROOM = "room", "Room"
        UNIT = "unit", "Unit"
        SHELF = "shelf", "Shelf"
        WALL = "wall", "Wall"

    parent = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="children"
    )
    kind = models.CharField(max_length=16, choices=Kind.choices)
    name = models.CharField(max_length=80)
    # Place in the walk among its siblings: shelves are visited in this order.
    order = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["order", "name"]
        constraints = [
            models.UniqueConstraint(fields=["parent", "name"], name="one_name_a_parent"),
        ]

    def __str__(self) -> str:
        return self.name


class Object(SyncedRow):
    """One work on paper, as the catalogue knows it."""

    class Studio(models.TextChoices):
        PAPER = "paper", "Paper"
        PHOTOGRAPHS = "photographs", "Photographs"
        PAINTINGS = "paintings", "Paintings"
        OBJECTS = "objects", "Objects"
        TEXTILES = "textiles", "Textiles"

    class Significance(models.TextChoices):
        EXCEPTIONAL = "exceptional", "Exceptional"
        HIGH = "high", "High"
        MEDIUM = "medium", "Medium"
        LOW = "low", "Low"
        UNASSESSED = "unassessed", "Not assessed"

    class ValueBand(models.TextChoices):
        A = "a", "A (highest)"
        B = "b", "B"
        C = "c", "C"
        D = "d", "D (lowest)"
        UNSET = "", "Not set"

    accession_number = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=300)
    maker = models.CharField(max_length=200, blank=True)
    date_text = models.CharField(max_length=80, blank=True)
    earliest_year = models.SmallIntegerField(null=True, blank=True)
    latest_year = models.SmallIntegerField(null=True, blank=True)
    width_mm = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_SHEET_MM)],
    )
    height_mm = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_SHEET_MM)],
    )
    support = models.CharField(max_length=200, blank=True)
    media = models.CharField(max_length=200, blank=True)
    studio = models.CharField(max_length=16, choices=Studio.choices, default=Studio.PAPER)
    significance = models.CharField(
        max_length=16, choices=Significance.choices, default=Significance.UNASSESSED
    )
    value_band = models.CharField(max_length=1, choices=ValueBand.choices, blank=True)
    # Mount, frame, folder or box, in words.
    mounts = models.CharField(max_length=200, blank=True)
    location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="contents"
    )
    # Where it is when not in the tree (another museum, a studio), in words.
    off_site_place = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["accession_number"]

    def __str__(self) -> str:
        return f"{self.accession_number} {self.title}"


class Move(SyncedRow):
    """An object went, or was found to be, somewhere else. Rows are never altered."""

    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="moves")
    to_location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    from_location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    to_place = models.CharField(max_length=200, blank=True)
    from_place = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at"]
