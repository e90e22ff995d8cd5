"""Copies of a SQLite database, taken and put back as one file."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.db import connection

from survey.sync import durable
from survey.sync.care.trouble import Trouble

FILE = "fieldleaf.sqlite3"
# What SQLite keeps beside a database that is open.
BESIDE = ("-wal", "-shm", "-journal")


def copy_to(folder: Path) -> Path:
    """Copy the database as it is at one moment, while others read and write. Raises OSError."""
    target = folder / FILE
    target.unlink(missing_ok=True)
    database: Any = connection
    database.ensure_connection()
    with closing(sqlite3.connect(target)) as copy:
        # All pages in one step: SQLite's online backup then holds one view of them throughout.
        database.connection.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
    durable.flush(target)
    return target


def check(path: Path) -> None:
    """Raises Trouble when SQLite finds the copy not whole in itself."""
    address = f"file:{quote(str(path.absolute()))}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(address, uri=True)) as copy:
            [[said], *_more] = copy.execute("PRAGMA integrity_check").fetchall()
            astray = copy.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as error:
        said, astray = str(error), None
    if said != "ok" or astray:
        raise Trouble(
            f"The copy of the database, {path}, is not whole: "
            f"{said if said != 'ok' else 'a row points to another that is not there'}."
        )


def put_back(copy: Path, aside: Path) -> None:
    """Let the copy take the database's place; what was there goes to the folder ``aside``.

    Raises Trouble when the server still runs, and OSError; all is then as it was.
    """
    target = Path(connection.settings_dict["NAME"])
    connection.close()
    incoming = target.with_name(f"{target.name}.incoming")
    durable.copy(copy, incoming)
    try:
        if target.exists() and (tables := _fold(target)) != 0:
            aside.mkdir(parents=True, exist_ok=True)
            if tables is not None:
                # A second name for the file, so that no moment is without a database.
                os.link(target, aside / target.name)
            else:
                for name in (target.name, *(target.name + end for end in BESIDE)):
                    if (target.parent / name).exists():
                        os.replace(target.parent / name, aside / name)
        os.replace(incoming, target)
    finally:
        incoming.unlink(missing_ok=True)
    durable.flush(target.parent)


def _fold(target: Path) -> int | None:
    """Bring all that SQLite keeps beside the database into it.

    Returns how many tables it has, None when it is too damaged to say. Raises Trouble when
    anybody has it open.
    """
    try:
        with closing(sqlite3.connect(target, timeout=2)) as present:
            # Only the last one who has the file open can do this.
            [mode] = present.execute("PRAGMA journal_mode = DELETE").fetchone()
            if mode != "delete":
                raise Trouble(RUNNING)
            return int(present.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode == sqlite3.SQLITE_BUSY:
            raise Trouble(RUNNING) from error
        return None
    except sqlite3.DatabaseError:
        return None


RUNNING = "The database is in use: stop the server, then restore. Nothing was altered."
