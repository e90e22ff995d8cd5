"""A courier's pass: made at the desk, opened on one device, ended when its time is over."""

import secrets
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from survey.access.models import Device, LoanPass, Person
from survey.access.services import hash_token, note, revoke

ASK_FOR_ANOTHER = "Ask whoever gave you the pass for another one."


class CannotOpen(Exception):
    """Why a pass does not open, in a sentence for whoever holds it."""


@transaction.atomic
def make_pass(
    loan: UUID, subject: str, holder: str, expires_at: datetime, by: Person
) -> tuple[LoanPass, str]:
    """A pass for one loan. Returns it with its token, which is kept nowhere else.

    subject     the loan in words, for the audit trail
    holder      the name of the person it is made for: what they do is kept under it
    expires_at  when it ends by itself
    """
    token = secrets.token_urlsafe(32)
    # A person without an account: no password opens it.
    person = Person(username=f"pass-{secrets.token_hex(8)}", role=Person.Role.COURIER)
    person.first_name = holder[:150]
    person.set_unusable_password()
    person.save()
    made = LoanPass.objects.create(
        loan=loan, person=person, token_hash=hash_token(token), expires_at=expires_at, made_by=by
    )
    note(by, "pass made", subject, {"holder": holder, "expires_at": expires_at.isoformat()})
    return made, token


@transaction.atomic
def open_pass(token: str, device_token: str, device_name: str) -> Device:
    """Sign the device in that opens a pass; the same device may ask again.

    device_token  what the device will sign its requests with, made by itself before it asked: a
                  first answer that was lost on the way keeps nobody out

    Raises CannotOpen.
    """
    found = (
        LoanPass.objects.select_for_update(of=("self",))
        .select_related("device", "person")
        .filter(token_hash=hash_token(token))
        .first()
    )
    now = timezone.now()
    if found is None:
        raise CannotOpen(f"This is not a pass of this server. {ASK_FOR_ANOTHER}")
    if found.revoked_at is not None:
        raise CannotOpen(f"This pass was withdrawn. {ASK_FOR_ANOTHER}")
    if found.expires_at <= now:
        ended = timezone.localtime(found.expires_at)
        raise CannotOpen(f"This pass ended on {ended:%-d %B %Y}. {ASK_FOR_ANOTHER}")
    if found.device is not None:
        if found.device.token_hash != hash_token(device_token):
            raise CannotOpen(
                f"This pass was opened on another device ({found.device.name}), and opens on one "
                f"only. {ASK_FOR_ANOTHER}"
            )
        if found.device.revoked_at is not None:
            raise CannotOpen(f"This device was signed out of the pass. {ASK_FOR_ANOTHER}")
        return found.device
    if Device.objects.filter(token_hash=hash_token(device_token)).exists():
        raise CannotOpen("Another pass was opened with this device’s key: open the link once more.")
    found.device = Device.objects.create(
        name=device_name,
        person=found.person,
        token_hash=hash_token(device_token),
        expires_at=found.expires_at,
        scope=scope_of(found),
    )
    found.save(update_fields=["device"])
    note(found.person, "pass opened", device_name, device=found.device)
    return found.device


def scope_of(one: LoanPass) -> dict[str, Any]:
    return {"locations": [], "loan": str(one.loan), "person": str(one.person_id)}


@transaction.atomic
def withdraw_pass(one: LoanPass, by: Person) -> None:
    """End a pass, opened or not, and the sign-in of its device."""
    if one.revoked_at is None:
        one.revoked_at = timezone.now()
        one.save(update_fields=["revoked_at"])
        note(by, "pass withdrawn", one.person.name)
    if one.device is not None:
        revoke(one.device, by)


@transaction.atomic
def set_end(loan: UUID, expires_at: datetime) -> None:
    """Let the passes of a loan, and the devices that opened them, end with it."""
    LoanPass.objects.filter(loan=loan).update(expires_at=expires_at)
    Device.objects.filter(opened_with__loan=loan).update(expires_at=expires_at)
