"""One unchanging view of the database, while tablets go on sending."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction


@contextmanager
def reading() -> Iterator[None]:
    """Within, every query sees the same moment; nobody's write waits, and nothing is written."""
    if connection.vendor == "sqlite":
        with _deferred(connection), transaction.atomic():
            yield
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


@contextmanager
def _deferred(database: Any) -> Iterator[None]:
    """SQLite transactions that take no lock for writing, which ours otherwise do at once."""
    database.ensure_connection()
    mode = database.transaction_mode
    database.transaction_mode = "DEFERRED"
    _run(database, "PRAGMA query_only = ON")
    try:
        yield
    finally:
        _run(database, "PRAGMA query_only = OFF")
        database.transaction_mode = mode


def _run(database: Any, statement: str) -> None:
    with database.cursor() as cursor:
        cursor.execute(statement)
