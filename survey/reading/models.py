"""Readings of photographs made in the background, and what people say of them.

A reading is the machine's and advises. What a person makes of it stands beside it: a
correction, a nudge, a placing, a note, an answer. Nothing here is carried by tablets.
"""

from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Examination, Observation, Photograph, Side
from survey.ids import new_id


class Reading(models.Model):
    """One question asked of the photographs of one side, and what came of it."""

    class Kind(models.TextChoices):
        ALIGN = "align", "Alignment of the lights"
        PAPER = "paper", "Paper structure"
        WATERMARK = "watermark", "Watermark"
        RELIEF = "relief", "Relief"
        ULTRAVIOLET = "ultraviolet", "Ultraviolet response"
        COLOUR = "colour", "Colour"
        CHANGES = "changes", "Changes"

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Being read"
        DONE = "done", "Read"
        FAILED = "failed", "Not read"

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    examination = models.ForeignKey(Examination, on_delete=models.PROTECT, related_name="readings")
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.RECTO)
    # Keys of the photographs used, in order.
    photographs = models.JSONField(default=list)
    # What the person told beside, such as where the colour target is; see its kind.
    given = models.JSONField(default=dict, blank=True)
    # How each lay on the sheet when it was read: nine numbers by its key; see Lie.matrix.
    placed = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    # 0…1, and the step it is at, in words.
    progress = models.FloatField(default=0.0)
    step = models.CharField(max_length=120, blank=True)
    # What was read, as its kind tells; null until done, and when it failed.
    result = models.JSONField(null=True, blank=True)
    # Why it failed, or what could not be measured; else what was read, in one sentence.
    sentence = models.TextField(blank=True)
    # {name: SHA-256}: pictures below PHOTOGRAPHS_DIR/readings/, which can be made again.
    pictures = models.JSONField(default=dict, blank=True)
    # Null when it was asked for by the server itself.
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    done_at = models.DateTimeField(null=True, blank=True)
    # How often it was begun: one that stops the worker again and again is given up.
    begun = models.PositiveSmallIntegerField(default=0)
    made_with = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            # Asked twice while it waits, it is one reading.
            models.UniqueConstraint(
                fields=["examination", "side", "kind"],
                condition=models.Q(state__in=["waiting", "running"]),
                name="one_open_reading_a_kind",
            )
        ]
        indexes = [
            # The readings of an examination's page, newest first.
            models.Index(
                fields=["examination", "kind", "-asked_at"], name="reading_of_examination"
            ),
            # The newest paper readings of the whole catalogue, for sheets of one mould.
            models.Index(fields=["kind", "state"], name="reading_of_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.examination_id}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)

    @property
    def correction(self) -> "Correction | None":
        """The latest correction; prefetch ``corrections`` where many are read."""
        return max(self.corrections.all(), key=lambda one: one.at, default=None)

    @property
    def stands(self) -> dict[str, Any] | None:
        """The result that counts: as last corrected by a person, else as it was read."""
        correction = self.correction
        result: dict[str, Any] | None = correction.result if correction else self.result
        return result


class Correction(models.Model):
    """What a person changed in a reading. The reading's own result stays as it was."""

    id = models.UUIDField(primary_key=True, default=new_id)
    reading = models.ForeignKey(Reading, on_delete=models.CASCADE, related_name="corrections")
    # What the person said, and the whole result worked out from it anew.
    changes = models.JSONField()
    result = models.JSONField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"Correction of {self.reading_id}"


class Alignment(models.Model):
    """Where a photograph lies on the one in normal light of the same side.

    One stands for a photograph. One nudged by a person is not replaced by a later reading.
    """

    photograph = models.OneToOneField(
        Photograph, on_delete=models.CASCADE, related_name="alignment"
    )
    onto = models.ForeignKey(Photograph, on_delete=models.CASCADE, related_name="+")
    # Nine numbers, row by row: pixels of the upright photograph at full size to those of onto.
    matrix = models.JSONField()
    # Median and 95 % of what is left between the two, and how far the sheet's corners moved.
    residual_mm = models.FloatField(null=True, blank=True)
    residual_95_mm = models.FloatField(null=True, blank=True)
    moved_mm = models.FloatField(null=True, blank=True)
    reading = models.ForeignKey(
        Reading, on_delete=models.SET_NULL, null=True, blank=True, related_name="alignments"
    )
    # Whoever moved it by hand, and the points that were put on each other.
    nudged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    points = models.JSONField(null=True, blank=True)
    at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"{self.photograph_id} on {self.onto_id}"


class LaterPlacing(models.Model):
    """How a photograph of a signed examination lies on its sheet, set at the desk afterwards.

    A signed examination is not changed, and where the corners of the sheet are in a picture is
    no finding: so it stands here, beside the record, and counts before the record's own.
    """

    photograph = models.OneToOneField(
        Photograph, on_delete=models.CASCADE, related_name="later_placing"
    )
    homography = models.JSONField()
    placing = models.JSONField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"Placing of {self.photograph_id}"


class PaperNote(models.Model):
    """What the conservator says of an object's paper, for the questions about its date."""

    class Answer(models.TextChoices):
        NOT_SAID = "", "Not said"
        YES = "yes", "Yes"
        NO = "no", "No"

    class Furnish(models.TextChoices):
        NOT_SAID = "", "Not said"
        RAG = "rag", "Rag"
        MECHANICAL_WOOD = "mechanical-wood", "Mechanical wood pulp"
        CHEMICAL_WOOD = "chemical-wood", "Chemical wood pulp"
        STRAW = "straw", "Straw or esparto"
        OTHER = "other", "Other"

    object = models.OneToOneField(Object, on_delete=models.CASCADE, related_name="paper_note")
    furnish = models.CharField(max_length=16, choices=Furnish.choices, blank=True)
    machine_made = models.CharField(max_length=3, choices=Answer.choices, blank=True)
    wove = models.CharField(max_length=3, choices=Answer.choices, blank=True)
    brightener_seen = models.CharField(max_length=3, choices=Answer.choices, blank=True)
    chlorine_bleached = models.CharField(max_length=3, choices=Answer.choices, blank=True)
    note = models.TextField(blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"Paper of {self.object_id}"


class DateAnswer(models.Model):
    """What a person answered to a question about a date. Earlier answers are kept."""

    class Answer(models.TextChoices):
        AGREES = "agrees", "The date agrees"
        DOES_NOT = "does-not", "The date does not agree"
        OPEN = "open", "Left open"

    object = models.ForeignKey(Object, on_delete=models.CASCADE, related_name="date_answers")
    # Code from dates.json.
    rule = models.CharField(max_length=48)
    answer = models.CharField(max_length=8, choices=Answer.choices)
    reason = models.TextField(blank=True)
    # The evidence as it read when the question was answered.
    evidence = models.TextField(blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.rule}: {self.answer}"


class SamePlace(models.Model):
    """What a person said of two observations of one object: one place through the years, or two.

    The newest word of a pair holds; earlier ones are kept.
    """

    # The one of the earlier examination, and the one of the later.
    before = models.ForeignKey(Observation, on_delete=models.CASCADE, related_name="+")
    after = models.ForeignKey(Observation, on_delete=models.CASCADE, related_name="+")
    is_same = models.BooleanField()
    reason = models.CharField(max_length=300, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.before_id} and {self.after_id}: {self.is_same}"
