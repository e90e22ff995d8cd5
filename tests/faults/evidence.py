"""What really lies on the tablet and on the server, read past all the app's own words."""

import hashlib
import uuid
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.browser import museum
from tests.faults.ledger import Rows

TABLES = ["visits", "examinations", "observations", "measurements", "photographs"]
READ_TABLET = """
async (tables) => {
  const { db } = await import("/field/store/database.js");
  const { filesToSend } = await import("/field/store/space.js");
  const rows = {};
  for (const table of tables) {
    rows[table] = Object.fromEntries((await db.table(table).toArray()).map((row) => [row.id, row]));
  }
  const unsent = {};
  for (const { sha256 } of await filesToSend()) {
    const bytes = await (await db.originals.get(sha256)).blob.arrayBuffer();
    const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
    unsent[sha256] = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }
  const originals = await db.originals.toCollection().primaryKeys();
  return { rows, originals, unsent, outbox: await db.outbox.toArray() };
}
"""


def on_the_tablet(page: Page) -> dict[str, Any]:
    """What it holds: rows by table and key, files, and the outbox.

    ``originals`` are the SHA-256 under which files lie; ``unsent`` says of those still to be
    sent what their bytes really hash to.
    """
    found: dict[str, Any] = page.evaluate(READ_TABLET, TABLES)
    for row in found["rows"]["examinations"].values():
        row["signed_at"] = moment(row["signed_at"])
    return found


def on_the_server(data: Path) -> Rows:
    """Its living rows by table and key."""
    return {table: _rows(data, f"examination_{table.removesuffix('s')}") for table in TABLES}


def _rows(data: Path, table: str) -> dict[str, dict[str, Any]]:
    columns = [column for _, column, *_ in museum.read(data, f"PRAGMA table_info({table})")]
    rows = {}
    for values in museum.read(data, f"SELECT * FROM {table} WHERE deleted_at IS NULL"):
        row = {
            name.removesuffix("_id"): _key(value) if name.endswith("id") else value
            for name, value in zip(columns, values, strict=True)
        }
        if "signed_at" in row:
            row["signed_at"] = moment(row["signed_at"])
        rows[row["id"]] = row
    return rows


def _key(value: Any) -> Any:
    """Keys of records as they go over the wire; other keys as they are."""
    return str(uuid.UUID(value)) if isinstance(value, str) and len(value) == 32 else value


def moment(text: str | None) -> datetime | None:
    if not text:
        return None
    read = datetime.fromisoformat(text)
    return read if read.tzinfo else read.replace(tzinfo=UTC)


def stored_contents(data: Path) -> dict[str, int]:
    """What the photographs' folder holds: SHA-256 of the bytes, and how many files have it."""
    found: dict[str, int] = {}
    for path in (data / "photographs").rglob("*"):
        if path.is_file():
            sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
            found[sha256] = found.get(sha256, 0) + 1
    return found
