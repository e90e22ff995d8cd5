"""Save rows in bulk, and log them so that tablets pull them."""

from typing import TypeVar

from survey.access.models import Person
from survey.sync.models import SyncedRow
from survey.sync.services import log_many

Row = TypeVar("Row", bound=SyncedRow)


def saved(name: str, model: type[Row], rows: list[Row], person: Person | None) -> list[Row]:
    """Save the rows, and log their making under the entity's ``name``."""
    model._default_manager.bulk_create(rows, batch_size=500)
    log_many(name, rows, person)
    return rows
