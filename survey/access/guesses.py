"""Slows down whoever tries passwords. Only wrong ones count, so nobody at work is held up."""

import hashlib
from typing import Any

from django.http import HttpRequest
from rest_framework.exceptions import Throttled
from rest_framework.request import Request
from rest_framework.throttling import SimpleRateThrottle


class TooManyGuesses(Throttled):
    default_detail = "Too many wrong sign-ins for this name."
    extra_detail_singular = "Wait {wait} second, then try again."
    extra_detail_plural = "Wait {wait} seconds, then try again."


class WrongGuesses(SimpleRateThrottle):
    """Wrong sign-ins for one name from one address."""

    rate = "10/min"

    def __init__(self, username: str) -> None:
        super().__init__()
        self.username = username

    def check(self, request: Request | HttpRequest) -> None:
        """Raises TooManyGuesses, which says how long to wait."""
        if not self.allow_request(request, None):  # type: ignore[arg-type]
            raise TooManyGuesses(self.wait())

    def count(self) -> None:
        """One more wrong one; after :meth:`check`."""
        super().throttle_success()

    def throttle_success(self) -> bool:
        return True

    def get_cache_key(self, request: Any, view: Any) -> str:
        # Not X-Forwarded-For: whoever guesses writes that as they please.
        who = f"{self.username.lower()} {request.META.get('REMOTE_ADDR', '')}"
        return "wrong-sign-ins-" + hashlib.sha256(who.encode()).hexdigest()
