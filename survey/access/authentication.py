"""Signs a tablet in by the token it was given when it was enrolled."""

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from survey.access.models import Device, Person
from survey.access.services import hash_token

SCHEME = "Device"
# "Last seen" is for people: to the minute is enough, and spares a write a request.
SEEN_EVERY = timedelta(minutes=1)
NOTHING_LOST = "What is on the tablet stays there and is sent once you have signed in again."
ASK_THE_DESK = (
    "What is on this device stays there: save what is unsent to a file and send it to whoever gave "
    "you the pass, or ask them for more time."
)


class DeviceAuthentication(BaseAuthentication):
    """``Authorization: Device <token>``. ``request.auth`` is then the Device."""

    def authenticate(self, request: Request) -> tuple[Person, Device] | None:
        scheme, _, token = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != SCHEME.lower():
            return None
        device = Device.objects.select_related("person").filter(
            token_hash=hash_token(token.strip())
        )
        found = device.first()
        now = timezone.now()
        if found is None:
            raise AuthenticationFailed(f"This server does not know this sign-in. {NOTHING_LOST}")
        if found.is_of_pass and not found.is_signed_in(now):
            raise _pass_failed(found)
        if found.revoked_at is not None:
            raise AuthenticationFailed(f"This device was signed out. {NOTHING_LOST}")
        if not found.is_signed_in(now):
            raise AuthenticationFailed(f"This sign-in has run out. {NOTHING_LOST}")
        if not found.person.is_active:
            raise AuthenticationFailed(
                "This account is closed. What is on the tablet stays there: "
                "ask the head of department."
            )
        _mark_seen(found, now)
        return found.person, found

    def authenticate_header(self, request: Request) -> str:
        return SCHEME


def _pass_failed(device: Device) -> AuthenticationFailed:
    """Withdrawn, or over; then ``ended_at`` is told beside it, for the device to say it by."""
    if device.revoked_at is not None:
        return AuthenticationFailed(f"This pass was withdrawn. {ASK_THE_DESK}")
    ended = timezone.localtime(device.expires_at)
    sentence = f"This pass ended on {ended:%-d %B %Y}. {ASK_THE_DESK}"
    return AuthenticationFailed({"detail": sentence, "ended_at": device.expires_at.isoformat()})


def _mark_seen(device: Device, now: datetime) -> None:
    # On SQLite even an update that finds no row waits for whoever is writing, and a pull with it.
    if device.last_seen_at is None or device.last_seen_at < now - SEEN_EVERY:
        Device.objects.filter(pk=device.pk).update(last_seen_at=now)


class DeviceScheme(OpenApiAuthenticationExtension):
    """How the interface's description speaks of it."""

    target_class = DeviceAuthentication
    name = "device"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": "`Device <token>`, with the token that sign-in gave.",
        }
