"""Visits and what was seen on them: examinations and all that hangs on one."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from survey.catalogue.models import LONGEST_SHEET_MM, Location, Object
from survey.sync.models import SyncedRow
from survey.vocabulary.models import Term


class Side(models.TextChoices):
    RECTO = "recto", "Recto"
    VERSO = "verso", "Verso"


class Visit(SyncedRow):
    """One outing with a purpose."""

    class Purpose(models.TextChoices):
        STORAGE_ROUND = "storage-round", "Storage round"
        GALLERY_ROUND = "gallery-round", "Gallery round"
        OFF_SITE = "off-site", "Off-site visit"
        LOAN_CHECK = "loan-check", "Loan check"
        BENCH = "bench", "Bench examination"

    purpose = models.CharField(max_length=16, choices=Purpose.choices)
    name = models.CharField(max_length=120)
    location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    place = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="visits"
    )
    started_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-started_at"]

    def __str__(self) -> str:
        return self.name


class Examination(SyncedRow):
    """One object on one visit. Once signed it is fixed; later words are amendments."""

    class VersoSeen(models.TextChoices):
        NOT_SAID = "", "Not said"
        YES = "yes", "Verso examined"
        PART = "part", "Verso seen in part"
        NO = "no", "Verso not accessible"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="examinations")
    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="examinations")
    examiner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="examinations"
    )
    started_at = models.DateTimeField(default=timezone.now)
    # Where the object was found, confirmed or corrected on the spot.
    location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    place = models.CharField(max_length=200, blank=True)
    location_confirmed = models.BooleanField(default=False)
    # {"latitude": degrees, "longitude": degrees, "accuracy_m": metres}, only if the person tapped.
    position = models.JSONField(null=True, blank=True)
    sheet_width_mm = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_SHEET_MM)],
    )
    sheet_height_mm = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_SHEET_MM)],
    )
    # Standard uncertainty of both, mm; a ruler read to the millimetre gives about 1.
    sheet_uncertainty_mm = models.FloatField(
        default=1.0, validators=[MinValueValidator(0.01), MaxValueValidator(100)]
    )
    mount = models.CharField(max_length=200, blank=True)
    verso_seen = models.CharField(max_length=8, choices=VersoSeen.choices, blank=True)
    # Said outright: looked, and saw no damage. Not the same as an empty list.
    nothing_seen = models.BooleanField(default=False)
    # Code from grades.json.
    grade = models.CharField(max_length=16, blank=True)
    notes = models.TextField(blank=True)
    # How long the ultraviolet lamp was on the sheet, seconds.
    lamp_s = models.PositiveIntegerField(default=0, validators=[MaxValueValidator(86_400)])
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_name = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-started_at"]

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None


class Photograph(SyncedRow):
    """One shot under one light. The bytes are a StoredFile of the same SHA-256, once sent."""

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="photographs"
    )
    light = models.CharField(max_length=16)
    # Raking only: where the light comes from, degrees clockwise from the sheet's top edge.
    azimuth_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(360)]
    )
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.RECTO)
    sha256 = models.CharField(max_length=64, db_index=True)
    size_bytes = models.BigIntegerField(validators=[MinValueValidator(1)])
    content_type = models.CharField(max_length=40)
    file_name = models.CharField(max_length=200, blank=True)
    width_px = models.PositiveIntegerField(null=True, blank=True)
    height_px = models.PositiveIntegerField(null=True, blank=True)
    taken_at = models.DateTimeField(default=timezone.now)
    caption = models.CharField(max_length=300, blank=True)
    # Nine numbers, row by row: pixels (x right, y down) to sheet millimetres.
    homography = models.JSONField(null=True, blank=True)
    # How the homography was found; see shapes.check_placing.
    placing = models.JSONField(null=True, blank=True)
    # What the tablet said of the shot; see shapes.check_shot_check.
    shot_check = models.JSONField(null=True, blank=True)
    # A sentence when the file is kept but is not whole or not readable.
    trouble = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["taken_at"]


class Observation(SyncedRow):
    """One term of the vocabulary, seen on this sheet."""

    class Nature(models.TextChoices):
        DAMAGE = "damage", "Damage"
        FEATURE = "feature", "Feature, not damage"
        UNSURE = "unsure", "Not yet decided"

    class Extent(models.TextChoices):
        NOT_SAID = "", "Not said"
        SPOT = "spot", "One place"
        SEVERAL = "several", "Several places"
        EDGE = "edge", "Along an edge"
        AREA = "area", "A whole area"
        OVERALL = "overall", "Overall"

    class Severity(models.TextChoices):
        NOT_SAID = "", "Not said"
        SLIGHT = "slight", "Slight"
        MODERATE = "moderate", "Moderate"
        SEVERE = "severe", "Severe"

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="observations"
    )
    term = models.ForeignKey(Term, on_delete=models.PROTECT, related_name="+")
    nature = models.CharField(max_length=8, choices=Nature.choices, default=Nature.DAMAGE)
    extent = models.CharField(max_length=8, choices=Extent.choices, blank=True)
    severity = models.CharField(max_length=8, choices=Severity.choices, blank=True)
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.RECTO)
    # Codes of the lights that show it on this sheet.
    lights = models.JSONField(default=list, blank=True)
    note = models.TextField(blank=True)
    # {"photograph": id, "x": 0…1, "y": 0…1}: a place on that photograph, as shares of its
    # width and height, until the photograph has a homography.
    mark = models.JSONField(null=True, blank=True)
    # {"kind": "polygon", "points": [[x_mm, y_mm], …]} on the sheet.
    region = models.JSONField(null=True, blank=True)

    class Meta:
        ordering = ["id"]


class Measurement(SyncedRow):
    """A length or area in sheet millimetres, with its standard uncertainty."""

    class Unit(models.TextChoices):
        MM = "mm", "mm"
        MM2 = "mm2", "mm²"

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="measurements"
    )
    observation = models.ForeignKey(
        Observation, on_delete=models.PROTECT, null=True, blank=True, related_name="measurements"
    )
    what = models.CharField(max_length=80)
    value = models.FloatField(validators=[MinValueValidator(0)])
    uncertainty = models.FloatField(validators=[MinValueValidator(0)])
    unit = models.CharField(max_length=4, choices=Unit.choices, default=Unit.MM)
    # Where it was tapped, if it was: the photograph, and [[x_mm, y_mm], …] on its side of the
    # sheet; a line for a length, an outline for an area.
    photograph = models.ForeignKey(
        Photograph, on_delete=models.PROTECT, null=True, blank=True, related_name="measurements"
    )
    points = models.JSONField(null=True, blank=True)

    class Meta:
        ordering = ["id"]


class Recommendation(SyncedRow):
    """What the examiner thinks should be done, and how long it may take."""

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="recommendations"
    )
    # Code from kinds_of_work.json.
    kind_of_work = models.CharField(max_length=32)
    hours = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(2000)]
    )
    # Codes from hazards.json, raised by the examiner beside those the terms raise.
    hazards = models.JSONField(default=list, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["id"]


class Watermark(SyncedRow):
    """A figure of wire in the paper, and its match in a printed repertory, if one was found.

    What is asked follows the registration standard of the International Association of Paper
    Historians (IPH 2.1.1, 2013), from memory.
    """

    class Kind(models.TextChoices):
        WATERMARK = "watermark", "Watermark"
        COUNTERMARK = "countermark", "Countermark"

    class SeenFrom(models.TextChoices):
        NOT_SAID = "", "Not said"
        MOULD = "mould", "Mould side"
        FELT = "felt", "Felt side"

    class Match(models.TextChoices):
        NOT_SAID = "", "Not said"
        IDENTICAL = "identical", "Identical"
        VARIANT = "variant", "A variant"
        TYPE = "type", "Of the same type only"

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="watermarks"
    )
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.WATERMARK)
    motif = models.CharField(max_length=200, blank=True)
    letters = models.CharField(max_length=120, blank=True)
    # The side that the region and the distances are told from.
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.RECTO)
    seen_from = models.CharField(max_length=8, choices=SeenFrom.choices, blank=True)
    # {"kind": "polygon", "points": [[x_mm, y_mm], …]} on the sheet.
    region = models.JSONField(null=True, blank=True)
    # Across the chain lines, and along them.
    width_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    height_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    # From its edges to the chain lines that bound it, and between those two.
    to_left_chain_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    to_right_chain_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    chain_interval_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    # Standard uncertainty of each of these five.
    uncertainty_mm = models.FloatField(
        default=0.5, validators=[MinValueValidator(0.01), MaxValueValidator(100)]
    )
    # Chain lines that run through the figure.
    chains_within = models.PositiveSmallIntegerField(null=True, blank=True)
    repertory = models.CharField(max_length=200, blank=True)
    repertory_number = models.CharField(max_length=60, blank=True)
    repertory_place = models.CharField(max_length=120, blank=True)
    repertory_from_year = models.SmallIntegerField(null=True, blank=True)
    repertory_to_year = models.SmallIntegerField(null=True, blank=True)
    match = models.CharField(max_length=10, choices=Match.choices, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["id"]


class Amendment(SyncedRow):
    """Words added after signing. The signed value stays; both are shown."""

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="amendments"
    )
    # Which record and field it corrects: "examination" or "observation:<id>", then the field.
    subject = models.CharField(max_length=64, default="examination")
    field = models.CharField(max_length=64, blank=True)
    before = models.JSONField(null=True, blank=True)
    after = models.JSONField(null=True, blank=True)
    reason = models.TextField()
    signed_at = models.DateTimeField(default=timezone.now)
    signed_name = models.CharField(max_length=120)

    class Meta:
        ordering = ["signed_at"]
