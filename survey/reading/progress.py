"""How far a reading is, written seldom: a page that asks each second needs no more."""

import time

from survey.reading import stopping
from survey.reading.models import Reading
from survey.reading.trouble import Stopped

WRITTEN_EVERY_S = 0.5


class Progress:
    def __init__(self, reading: Reading) -> None:
        self._key = reading.pk
        self._written_at = 0.0

    def say(self, share: float, step: str) -> None:
        """Tell how much is done, 0…1, and which step begins. Raises Stopped when it should end."""
        if stopping.is_asked():
            raise Stopped
        now = time.monotonic()
        if now - self._written_at >= WRITTEN_EVERY_S:
            self._written_at = now
            Reading.objects.filter(pk=self._key).update(progress=share, step=step[:120])
