"""The course of one piece of the worker's work: taken up, made, failed, or put back to wait.

Of rows with ``state``, ``progress``, ``step``, ``sentence``, ``begun``, ``made_with``, ``asked_at``
and ``done_at``, such as readings and reports.
"""

import logging
from collections.abc import Callable
from typing import Any

from django.db import models
from django.db.models import F
from django.utils import timezone

from survey.reading.trouble import GivenUp

logger = logging.getLogger(__name__)

# Work that stopped the worker this often is given up.
MOST_BEGUN = 3


def carry_out(
    row: Any,
    make: Callable[[], None],
    *,
    step: str,
    made_with: str,
    troubles: tuple[type[Exception], ...],
    untouched: str,
) -> None:
    """Make what waits. One that is already being made, or is done, is left alone.

    row        its model's verbose name is what it is called
    make       makes it and says so in the row
    step       the first one, in words
    troubles   errors whose message is a sentence for a person
    untouched  what a fault leaves as it was, in words: ``The photographs are``

    Whatever goes wrong is told in the row's sentence; Stopped and the like put it back to wait,
    and go on upwards.
    """
    rows = type(row)._default_manager.filter(pk=row.pk)
    claimed = rows.filter(state="waiting").update(
        state="running", begun=F("begun") + 1, progress=0.0, step=step, made_with=made_with
    )
    if not claimed:
        return
    row.refresh_from_db()
    name = row._meta.verbose_name
    try:
        if row.begun > MOST_BEGUN:
            raise GivenUp(
                f"The server stopped {MOST_BEGUN} times while it made this {name}, and gave it up. "
                "Tell whoever looks after Fieldleaf; ask again when they have looked."
            )
        make()
    except Exception as error:
        sentence = str(error)
        if not isinstance(error, (GivenUp, *troubles)):
            logger.exception("The %s %s met a fault.", name, row.pk)
            sentence = _fault(error, name, untouched)
        rows.update(state="failed", step="", sentence=sentence, done_at=timezone.now())
    except BaseException:
        # The worker was told to end: the next one takes it up, and this was no fault of it.
        rows.update(state="waiting", begun=F("begun") - 1, progress=0.0, step="")
        raise


def take_up(model: type[models.Model], enqueue: Callable[[Any], None]) -> int:
    """Put back to wait what a worker was at when it was killed, and queue all that waits.

    Only where no worker runs. Returns how many wait. One that is queued twice is made once.
    """
    rows = model._default_manager
    rows.filter(state="running").update(state="waiting", progress=0.0, step="")
    waiting = list(rows.filter(state="waiting").order_by("asked_at", "pk"))
    for row in waiting:
        enqueue(row)
    return len(waiting)


def _fault(error: Exception, name: str, untouched: str) -> str:
    if isinstance(error, OSError):
        return f"The disk failed ({error.strerror or error}). Make room or mend it, then ask again."
    if isinstance(error, MemoryError):
        return "The server has too little memory for photographs of this size."
    return (
        f"The server failed on this {name} and noted the fault. {untouched} untouched. Tell "
        "whoever looks after Fieldleaf."
    )
