"""A copy of the server holds the record of light, though the change log does not."""

import io
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from survey.loans import services
from survey.sync.services import record_change
from tests.factories import PersonFactory

pytestmark = [
    # SQLite copies no database that its own connection is writing to.
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="reads the copy as SQLite"),
]


def test_a_copy_holds_the_displays_and_the_record_stays_verified(tmp_path: Path) -> None:
    person = PersonFactory()
    services.note_display(
        record_change("object", None, {"accession_number": "PE.1", "title": "Reeds"}, person),
        person=person,
        place="Gallery 3",
        first_day=date(2025, 3, 3),
        last_day=date(2025, 5, 25),
        lux=50.0,
        hours_a_day=8.0,
        basis="measured",
        uncertainty_percent=10.0,
    )
    call_command("backup", str(tmp_path), stdout=io.StringIO())
    [copy] = tmp_path.glob("fieldleaf-*")
    with closing(sqlite3.connect(copy / "data" / "fieldleaf.sqlite3")) as database:
        rows = database.execute("SELECT place, lux FROM loans_display").fetchall()
    assert rows == [("Gallery 3", 50.0)]
    said = io.StringIO()
    call_command("verify", stdout=said)
    assert "All is as it was" in said.getvalue()
