"""Takes a tablet's database out of a browser and puts it into another, as a frozen file.

The format, made for the purpose and told in fixtures/tablet-databases/README.md, holds the
database as the browser has it, below any library: so it can be put back as it was, under the
schema it had, for whatever version of the app then opens it.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.browser import small_museum
from tests.browser.server import ROOT, Server

FOLDER = ROOT / "fixtures" / "tablet-databases"
FORMAT = "fieldleaf-tablet-database"

IN_PAGE = """
const asked = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

async function frozen(value) {
  if (value instanceof Blob) {
    const bytes = new Uint8Array(await value.arrayBuffer());
    return { $blob: btoa(String.fromCharCode(...bytes)), type: value.type };
  }
  if (Array.isArray(value)) return Promise.all(value.map(frozen));
  if (value === null || typeof value !== "object") return value;
  const parts = Object.entries(value).map(async ([key, part]) => [key, await frozen(part)]);
  return Object.fromEntries(await Promise.all(parts));
}

function thawed(value) {
  if (Array.isArray(value)) return value.map(thawed);
  if (value === null || typeof value !== "object") return value;
  if ("$blob" in value) {
    const bytes = Uint8Array.from(atob(value.$blob), (letter) => letter.charCodeAt(0));
    return new Blob([bytes], { type: value.type });
  }
  return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, thawed(part)]));
}
"""

DUMP = f"""
async () => {{
  {IN_PAGE}
  const db = await asked(indexedDB.open("fieldleaf"));
  const stores = {{}};
  for (const name of db.objectStoreNames) {{
    const store = db.transaction(name).objectStore(name);
    const indexes = [...store.indexNames].map((index) => {{
      const {{ name, keyPath, unique, multiEntry }} = store.index(index);
      return {{ name, keyPath, unique, multiEntry }};
    }});
    const {{ keyPath, autoIncrement }} = store;
    const rows = await asked(store.getAll());
    stores[name] = {{ keyPath, autoIncrement, indexes, rows: await frozen(rows) }};
  }}
  const {{ version }} = db;
  db.close();
  return {{ name: "fieldleaf", version, stores }};
}}
"""

RESTORE = f"""
async ({{ name, version, stores }}) => {{
  {IN_PAGE}
  const opening = indexedDB.open(name, version);
  opening.onupgradeneeded = () => {{
    for (const [store, {{ keyPath, autoIncrement, indexes }}] of Object.entries(stores)) {{
      const made = opening.result.createObjectStore(store, {{ keyPath, autoIncrement }});
      for (const index of indexes) made.createIndex(index.name, index.keyPath, index);
    }}
  }};
  const db = await asked(opening);
  const writing = db.transaction(Object.keys(stores), "readwrite");
  for (const [store, {{ rows }}] of Object.entries(stores)) {{
    for (const row of rows) writing.objectStore(store).put(thawed(row));
  }}
  await new Promise((resolve, reject) => {{
    writing.oncomplete = resolve;
    writing.onabort = () => reject(writing.error);
  }});
  db.close();
}}
"""


def take_out(page: Page) -> dict[str, Any]:
    """The database of the page's origin, as JSON can hold it."""
    found: dict[str, Any] = page.evaluate(DUMP)
    return found


def put_in(page: Page, address: str, database: dict[str, Any]) -> None:
    """Give the origin at ``address`` this database; it must have none yet."""
    # A file of the app, so that the origin is right and no app is running.
    page.goto(f"{address}/field/icon.svg")
    page.evaluate(RESTORE, database)


def rows(database: dict[str, Any], store: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = database["stores"][store]["rows"]
    return found


def write(database: dict[str, Any], path: Path) -> None:
    """One row a line, so that a person can read it and a comparison shows what differs."""
    lines = ["{", f'"format": "{FORMAT}",']
    lines += [f'"{part}": {json.dumps(database[part])},' for part in ("name", "version")]
    stores = []
    for name, store in database["stores"].items():
        shape = {part: store[part] for part in ("keyPath", "autoIncrement", "indexes")}
        kept = ",\n".join(json.dumps(row, ensure_ascii=False) for row in store["rows"])
        rows_in = f'"rows": [\n{kept}\n]' if kept else '"rows": []'
        stores.append(f'"{name}": {json.dumps(shape)[:-1]}, {rows_in}}}')
    lines += ['"stores": {', ",\n".join(stores), "}", "}", ""]
    path.write_text("\n".join(lines))


def read(path: Path) -> dict[str, Any]:
    database: dict[str, Any] = json.loads(path.read_text())
    assert database.pop("format") == FORMAT
    return database


def give_museum(server: Server, devices: dict[str, str], *, lends: bool = False) -> None:
    """Fill the server's empty data folder with the small museum, by the server's own code."""
    program = [str(Path(small_museum.__file__)), json.dumps(devices), *(["lends"] if lends else [])]
    for arguments in (["manage.py", "migrate"], program):
        subprocess.run(
            [sys.executable, *arguments],
            cwd=server.root,
            env=server.environment,
            check=True,
            stdout=subprocess.DEVNULL,
        )
