"""Which way a database is copied and put back: SQLite's or PostgreSQL's."""

from types import ModuleType

from django.db import connection

from survey.sync.care import postgresql, sqlite
from survey.sync.care.trouble import Trouble

KINDS: dict[str, ModuleType] = {"sqlite": sqlite, "postgresql": postgresql}
NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


def present() -> ModuleType:
    """The module that knows the database which is set. Raises Trouble when none does."""
    if connection.vendor not in KINDS:
        raise Trouble(f"A database of the kind {connection.vendor} cannot be copied here.")
    return KINDS[connection.vendor]
