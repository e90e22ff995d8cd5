"""The change log, and what hangs on it. Knows no entity by name."""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.utils import timezone

from survey.ids import new_id


class SyncedRow(models.Model):
    """A row that tablets carry. Its key may have been made on a tablet."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    # The number of the last change that touched this row; see Change.number.
    revision = models.BigIntegerField(default=0, editable=False, db_index=True)
    deleted_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True


class Counter(models.Model):
    """One locked row per series: numbers are handed out in commit order, without gaps."""

    name = models.CharField(max_length=32, primary_key=True)
    value = models.BigIntegerField(default=0)


class Restoration(models.Model):
    """The server was set back to a copy. Numbers between these two were once given to changes
    that the copy does not have, and are never given again."""

    at = models.DateTimeField(default=timezone.now)
    last_number = models.BigIntegerField()
    next_number = models.BigIntegerField()


class Change(models.Model):
    """One change as it arrived, kept for good. The key is the tablet's, so a replay is seen."""

    class Outcome(models.TextChoices):
        APPLIED = "applied", "Applied"
        QUESTION = "question", "Applied, with an open question"
        REFUSED = "refused", "Refused"

    id = models.UUIDField(primary_key=True, default=new_id)
    # Null for a change that altered nothing, such as a refused one: nobody pulls it.
    number = models.BigIntegerField(null=True, unique=True)
    entity = models.CharField(max_length=32)
    entity_id = models.CharField(max_length=64)
    fields = models.JSONField(default=dict)
    base = models.BigIntegerField(default=0)
    at = models.CharField(max_length=64)
    # Key of the open question that this change answers. Not a foreign key: a refused change may
    # name one that never was.
    settles = models.UUIDField(null=True, blank=True)
    clock_clamped = models.BooleanField(default=False)
    device = models.ForeignKey("access.Device", on_delete=models.PROTECT, null=True, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    received_at = models.DateTimeField(default=timezone.now)
    outcome = models.CharField(max_length=16, choices=Outcome.choices)
    # One sentence a field: {"severity": "…"}; "" names the change as a whole.
    reasons = models.JSONField(default=dict, blank=True)

    class Meta:
        indexes = [
            # History of one record, newest first (object and examination pages).
            models.Index(fields=["entity", "entity_id", "number"], name="change_of_record"),
        ]

    def __str__(self) -> str:
        return f"{self.entity} {self.entity_id} #{self.number}"


class FieldState(models.Model):
    """Who last set a field and when by their clock: what a later change is weighed against.

    A field has none before it is first altered: whoever alters it has seen its beginning.
    """

    entity = models.CharField(max_length=32)
    entity_id = models.CharField(max_length=64)
    field = models.CharField(max_length=64)
    change = models.ForeignKey(Change, on_delete=models.PROTECT)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["entity", "entity_id", "field"], name="one_state_a_field"
            )
        ]


class OpenQuestion(models.Model):
    """Two people gave one field different values from the same base. A person settles it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    entity = models.CharField(max_length=32)
    entity_id = models.CharField(max_length=64)
    field = models.CharField(max_length=64)
    # The change whose value stands in the record, and the one kept beside it.
    shown = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="questions_shown")
    kept = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="questions_kept")
    asked_at = models.DateTimeField(default=timezone.now)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )

    class Meta:
        indexes = [
            # The desk's list of questions still open.
            models.Index(
                fields=["entity", "entity_id"],
                condition=models.Q(settled_at__isnull=True),
                name="unsettled_of_record",
            )
        ]

    @property
    def is_open(self) -> bool:
        return self.settled_at is None


class StoredFile(models.Model):
    """One content, addressed by its SHA-256; the bytes lie in PHOTOGRAPHS_DIR."""

    sha256 = models.CharField(max_length=64, primary_key=True)
    size_bytes = models.BigIntegerField()
    stored_at = models.DateTimeField(default=timezone.now)
    # What the receiving app found in the file (format, pixels, trouble).
    facts = models.JSONField(default=dict, blank=True)

    def __str__(self) -> str:
        return self.sha256


class Upload(models.Model):
    """A tus upload under way. Its bytes so far lie in UPLOADS_DIR under its id."""

    id = models.UUIDField(primary_key=True, default=new_id)
    device = models.ForeignKey("access.Device", on_delete=models.PROTECT, null=True, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    length = models.BigIntegerField()
    offset = models.BigIntegerField(default=0)
    metadata = models.JSONField(default=dict)
    sha256 = models.CharField(max_length=64)
    started_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    def is_expired(self, now: datetime) -> bool:
        return self.finished_at is None and self.expires_at <= now
