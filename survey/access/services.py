"""What changes who may come in: devices are enrolled and revoked, and what was done is noted."""

import hashlib
import secrets
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from survey.access.models import AuditEntry, Device, Person


def note(
    person: Person | None,
    action: str,
    subject: str = "",
    detail: dict[str, Any] | None = None,
    device: Device | None = None,
) -> AuditEntry:
    """Add a line to the audit trail.

    person   who did it; None for the server itself or somebody unknown
    action   a few words in the past, such as "weights saved"; at most 64 characters
    subject  what it was done to, in words; cut at 200 characters
    detail   whatever explains it, as JSON
    """
    return AuditEntry.objects.create(
        person=person, device=device, action=action, subject=subject[:200], detail=detail or {}
    )


def hash_token(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def enrol(person: Person, name: str, device_id: UUID | None = None) -> tuple[Device, str]:
    """Sign a device in. Returns it with its token, which is kept nowhere else.

    A device that was this person's before comes back as itself, so that what it wrote while
    it was signed out is known to be its own. Any other id is ignored, and a new device made.
    """
    own = Device.objects.filter(person=person)
    device = (own.filter(pk=device_id).first() if device_id else None) or Device(person=person)
    token = secrets.token_urlsafe(32)
    device.name = name
    device.token_hash = hash_token(token)
    device.expires_at = timezone.now() + timedelta(days=settings.DEVICE_SIGN_IN_DAYS)
    device.revoked_at = None
    device.save()
    note(person, "signed in", device.name, device=device)
    return device, token


@transaction.atomic
def revoke(device: Device, by: Person) -> None:
    """End a device's sign-in, for good or until its person signs in on it again."""
    if device.revoked_at is None:
        device.revoked_at = timezone.now()
        device.save(update_fields=["revoked_at"])
        note(by, "signed out", device.name, device=device)
