"""Asks for readings by itself once an examination is signed and all its photographs are here.

It listens to rows being saved, for sync knows of no reading. What it does then is a few quick
looks; only when all is there does it put readings in the queue. No upload fails by it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.db import transaction
from django.db.models.signals import post_save

from survey.examination.models import Examination, Photograph
from survey.reading import services
from survey.sync.files import stored_of
from survey.sync.models import StoredFile

_hushed: ContextVar[bool] = ContextVar("hushed", default=False)


@contextmanager
def hushed() -> Iterator[None]:
    """Within it nothing is asked for by itself: for rows that come in bulk."""
    token = _hushed.set(True)
    try:
        yield
    finally:
        _hushed.reset(token)


def listen() -> None:
    post_save.connect(_file_came, StoredFile, dispatch_uid="reading: file")
    post_save.connect(_examination_changed, Examination, dispatch_uid="reading: examination")


def ask_when_complete(examination: Examination) -> None:
    """Ask for all readings of a signed examination whose photographs have all arrived."""
    if not examination.is_signed or examination.deleted_at is not None:
        return
    taken = Photograph.objects.filter(examination=examination, deleted_at=None)
    wanted = set(taken.values_list("sha256", flat=True))
    if wanted and set(stored_of(wanted)) == wanted:
        services.ask_all(examination, None)


def _file_came(instance: StoredFile, **_: Any) -> None:
    def look() -> None:
        signed = Examination.objects.filter(
            photographs__sha256=instance.sha256, signed_at__isnull=False, deleted_at=None
        )
        for examination in signed.distinct():
            ask_when_complete(examination)

    _afterwards(look)


def _examination_changed(instance: Examination, **_: Any) -> None:
    if instance.is_signed:
        _afterwards(lambda: ask_when_complete(instance))


def _afterwards(look: Any) -> None:
    if _hushed.get():
        return
    # Robust: a fault here is noted in the log, and what was sent stays sent.
    transaction.on_commit(look, robust=True)
