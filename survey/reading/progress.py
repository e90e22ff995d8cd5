"""How far the worker is with something, written seldom: a page that asks needs no more."""

import time

from django.db import models

from survey.reading import stopping
from survey.reading.trouble import Stopped

WRITTEN_EVERY_S = 0.5


class Progress:
    """Of one row that has ``progress`` and ``step``."""

    def __init__(self, row: models.Model) -> None:
        self._rows = type(row)._default_manager.filter(pk=row.pk)
        self._written_at = 0.0

    def say(self, share: float, step: str) -> None:
        """Tell how much is done, 0…1, and which step begins. Raises Stopped when it should end."""
        if stopping.is_asked():
            raise Stopped
        now = time.monotonic()
        if now - self._written_at >= WRITTEN_EVERY_S:
            self._written_at = now
            self._rows.update(progress=share, step=step[:120])
