"""Copies of a PostgreSQL database, by its own tools pg_dump and pg_restore."""

import os
import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path

from django.db import connection

from survey.sync import durable
from survey.sync.care.trouble import Trouble

FILE = "fieldleaf.pgdump"


def copy_to(folder: Path) -> Path:
    """Copy the database as it is at one moment, while others read and write. Raises Trouble."""
    target = folder / FILE
    _run(
        "pg_dump", "--format=custom", "--no-owner", "--no-privileges",
        f"--schema={_schema()}", f"--file={target}",
    )  # fmt: skip
    durable.flush(target)
    return target


def check(path: Path) -> None:
    """Raises Trouble when pg_restore cannot read the copy from its beginning to its end."""
    _run("pg_restore", f"--file={os.devnull}", str(path))


def put_back(copy: Path, aside: Path) -> None:
    """Let the copy take the database's place; what was there stays in a schema beside it.

    Raises Trouble when the server still runs or the copy is not taken; all is then as it was.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity "
            "WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        if cursor.fetchone()[0]:
            raise Trouble("The database is in use: stop the server, then restore.")
        schema, kept = _schema(), f"before_restore_{datetime.now(UTC):%Y%m%dt%H%M%S}"
        quoted = connection.ops.quote_name
        was_bare = not connection.introspection.table_names(cursor)
        cursor.execute(f"ALTER SCHEMA {quoted(schema)} RENAME TO {quoted(kept)}")
        cursor.execute(f"CREATE SCHEMA {quoted(schema)}")
    connection.close()
    try:
        _run(
            "pg_restore", "--no-owner", "--no-privileges", "--single-transaction",
            "--exit-on-error", f"--schema={schema}",
            f"--dbname={connection.settings_dict['NAME']}", str(copy),
        )  # fmt: skip
    except Trouble:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP SCHEMA {quoted(schema)} CASCADE")
            cursor.execute(f"ALTER SCHEMA {quoted(kept)} RENAME TO {quoted(schema)}")
        raise
    if was_bare:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP SCHEMA {quoted(kept)}")
        return
    aside.mkdir(parents=True, exist_ok=True)
    (aside / "database.txt").write_text(
        f"What was in the database before is in its schema {kept}. When it is wanted no more: "
        f"DROP SCHEMA {kept} CASCADE\n"
    )


def _schema() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_schema()")
        return str(cursor.fetchone()[0])


def _run(tool: str, *arguments: str) -> None:
    if shutil.which(tool) is None:
        raise Trouble(
            f"{tool} is not on this machine. Install PostgreSQL’s client programs, of the "
            "database’s version or a later one (on Debian: postgresql-client), then run the "
            "command again."
        )
    present = connection.settings_dict
    # By the environment, because anybody on the machine can read a command's arguments.
    given = {
        "PGHOST": present["HOST"],
        "PGPORT": str(present["PORT"]),
        "PGUSER": present["USER"],
        "PGPASSWORD": present["PASSWORD"],
        "PGDATABASE": str(present["NAME"]),
    }
    environment = {**os.environ, **{name: value for name, value in given.items() if value}}
    done = subprocess.run(
        [tool, *arguments], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise Trouble(f"{tool} failed: {done.stderr.strip()}")
