"""Reads a server's data folder from outside, as a doubter would: files and SQLite."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any


def read(data: Path, query: str, *values: Any) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(data / "fieldleaf.sqlite3", timeout=30)) as database:
        return database.execute(query, values).fetchall()


def write(data: Path, query: str, *values: Any) -> None:
    with closing(sqlite3.connect(data / "fieldleaf.sqlite3", timeout=30)) as database, database:
        database.execute(query, values)


def unexamined_objects(data: Path, count: int) -> list[str]:
    """Accession numbers of sheets that nobody has examined and nobody waits for."""
    rows = read(
        data,
        """SELECT accession_number FROM catalogue_object o
           WHERE studio = 'paper' AND significance = 'medium' AND location_id IS NOT NULL
             AND earliest_year > 1500
             AND NOT EXISTS (SELECT 1 FROM examination_examination e WHERE e.object_id = o.id)
             AND NOT EXISTS (SELECT 1 FROM triage_need n WHERE n.object_id = o.id)
           ORDER BY accession_number LIMIT ?""",
        count,
    )
    return [number for (number,) in rows]


def stored_bytes(data: Path, sha256: str) -> bytes | None:
    """The photograph as the server holds it, found by its name alone."""
    found = [path for path in (data / "photographs").rglob(sha256) if path.is_file()]
    return found[0].read_bytes() if found else None
