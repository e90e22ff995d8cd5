"""People, the devices they enrolled, and the trail of what was done."""

from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils import timezone

from survey.ids import new_id


def carries_everything() -> dict[str, Any]:
    return {"locations": []}


class Person(AbstractUser):
    """Someone who signs in. The name they sign with is their full name."""

    class Role(models.TextChoices):
        CONSERVATOR = "conservator", "Conservator"
        COURIER = "courier", "Courier"
        HEAD = "head", "Head of department"

    role = models.CharField(max_length=16, choices=Role.choices, default=Role.CONSERVATOR)

    @property
    def name(self) -> str:
        return self.get_full_name() or self.username

    @property
    def is_head(self) -> bool:
        return self.role == self.Role.HEAD

    @property
    def is_courier(self) -> bool:
        return self.role == self.Role.COURIER


class Device(models.Model):
    """A tablet or phone that was signed in once and works on by itself."""

    id = models.UUIDField(primary_key=True, default=new_id)
    name = models.CharField(max_length=80)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="devices")
    # Only a SHA-256 of the token is kept: a stolen database opens no tablet's session.
    token_hash = models.CharField(max_length=64, unique=True)
    enrolled_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)
    # Which part of the catalogue it carries: {"locations": [ids]}, where an empty list is all of
    # it; or {"locations": [], "loan": id, "person": id} of a pass.
    scope = models.JSONField(default=carries_everything)

    def __str__(self) -> str:
        return self.name

    def is_signed_in(self, now: datetime) -> bool:
        return self.revoked_at is None and self.expires_at > now

    @property
    def is_of_pass(self) -> bool:
        """Whether a pass opened it: it may see and do what the pass says, and nothing else."""
        return "loan" in self.scope


class LoanPass(models.Model):
    """Opens one loan on one device, for somebody who has no account here."""

    id = models.UUIDField(primary_key=True, default=new_id)
    # The loan's key alone: loans lie above this room.
    loan = models.UUIDField(db_index=True)
    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="held_pass")
    # As with devices, only a SHA-256 of the token is kept.
    token_hash = models.CharField(max_length=64, unique=True)
    device = models.OneToOneField(
        Device, on_delete=models.PROTECT, null=True, blank=True, related_name="opened_with"
    )
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        verbose_name_plural = "loan passes"

    def __str__(self) -> str:
        return self.person.name

    def is_open(self, now: datetime) -> bool:
        """Whether it opens, or has opened, anything still."""
        signed_out = self.device is not None and self.device.revoked_at is not None
        return self.revoked_at is None and not signed_out and self.expires_at > now


class AuditEntry(models.Model):
    """One thing somebody did that others may need to account for."""

    at = models.DateTimeField(default=timezone.now, db_index=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, blank=True)
    action = models.CharField(max_length=64)
    subject = models.CharField(max_length=200, blank=True)
    detail = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.action} {self.subject}"
