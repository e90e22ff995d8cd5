"""The way there and back on PostgreSQL, by its own tools. Runs beside tests.postgres only."""

import os
from pathlib import Path

import pytest

from tests.postgres import new_database
from tests.sync.care.server import Kept
from tests.sync.care.test_restore import FILL, STILL_SIGNED_IN

ADDRESS = os.environ.get("FIELDLEAF_DATABASE", "")

pytestmark = pytest.mark.skipif(
    not ADDRESS.startswith("postgresql:"), reason="this run has no PostgreSQL"
)

COUNTS = "print(Visit.objects.count(), Change.objects.count(), StoredFile.objects.count())"


def test_all_comes_back_and_what_was_there_is_set_aside(tmp_path: Path) -> None:
    server = Kept(tmp_path / "data", new_database(ADDRESS, "care"))
    assert server.manage("migrate").code == 0
    server.python(FILL)
    ran = server.manage("backup", tmp_path / "copies")
    assert ran.code == 0, ran.told
    [copy] = (tmp_path / "copies").glob("fieldleaf-*")

    new = Kept(tmp_path / "new", new_database(ADDRESS, "care_new"))
    ran = new.manage("restore", copy)
    assert ran.code == 0, ran.told
    assert new.python(COUNTS) == server.python(COUNTS) == "1 1 3\n"
    assert new.photographs() == server.photographs()
    assert new.python(STILL_SIGNED_IN) == "1\n"
    ran = new.manage("verify")
    assert ran.code == 0, ran.told

    assert "Add --replace" in new.manage("restore", copy).told
    ran = new.manage("restore", copy, "--replace")
    assert ran.code == 0, ran.told
    assert new.python(COUNTS) == "1 1 3\n"
    [note] = new.data.glob("before-restore-*/database.txt")
    schema = note.read_text().split("DROP SCHEMA ")[1].split(" ")[0]
    assert (
        new.python(
            "from django.db import connection\n"
            "cursor = connection.cursor()\n"
            f"cursor.execute('SELECT count(*) FROM {schema}.examination_visit')\n"
            "print(cursor.fetchone())"
        )
        == "(2,)\n"
    )
    # A copy that is made afterwards has nothing of what was set aside.
    assert new.manage("backup", tmp_path / "later").code == 0


def test_it_says_when_the_tools_are_absent(tmp_path: Path) -> None:
    server = Kept(tmp_path / "data", new_database(ADDRESS, "care_bare"))
    assert server.manage("migrate").code == 0
    ran = server.manage("backup", tmp_path / "copies", PATH=str(tmp_path))
    assert ran.code == 1
    assert "pg_dump is not on this machine. Install PostgreSQL’s client programs" in ran.told
