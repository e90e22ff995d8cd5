"""Puts a copy back: verified first, and what was there before is set aside, never deleted.

Photographs are named by their content, so those that lie on the server and are whole stay
where they are, also those that came after the copy was made.
"""

import json
import os
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.loader import MigrationLoader

from survey.access.models import Person
from survey.access.services import note
from survey.sync import durable, files, log, registry
from survey.sync.care import bags, contents, databases
from survey.sync.care.backup import ABOUT, FORMAT, PHOTOGRAPHS, PREFIX, VERSION, newest
from survey.sync.care.progress import Progress, count, in_units
from survey.sync.care.trouble import Trouble
from survey.sync.models import Change, StoredFile


@dataclass(frozen=True)
class Copy:
    """A copy that was read from end to end and found whole."""

    folder: Path
    made_at: datetime
    database: Path
    photographs: dict[str, str]
    photograph_bytes: int


@dataclass
class Restored:
    """What was put back.

    aside    where what was there before now lies; None when nothing was
    kept     photographs that came after the copy was made, and are known again
    altered  a sentence for each photograph that was altered already when it was copied
    """

    aside: Path | None = None
    photographs: int = 0
    kept: int = 0
    altered: list[str] = field(default_factory=list)


def checked(folder: Path, out: Any) -> Copy:
    """Read a copy from end to end. Raises Trouble when it is not whole, or not for this server."""
    if not (folder / "bagit.txt").is_file():
        raise Trouble(_not_a_copy(folder))
    try:
        entries = bags.entries_of(folder)
    except bags.NoBag as error:
        raise Trouble(f"{folder}: {error}") from error
    size = sum((folder / path).stat().st_size for path in entries if (folder / path).is_file())
    out.write(f"Reading the copy, {in_units(size)} …")
    faults = list(bags.faults(folder, entries, Progress(out, size).add))
    if faults:
        listed = "\n".join(f"  {path} {fault}." for path, fault in faults)
        raise Trouble(f"This copy is not whole. Take another one.\n{listed}")
    about = _about(folder)
    database = folder / "data" / about["database_file"]
    databases.present().check(database)
    photographs = {
        Path(path).name: sums["sha256"]
        for path, sums in entries.items()
        if path.startswith(f"{PHOTOGRAPHS}/")
    }
    return Copy(
        folder,
        datetime.fromisoformat(about["made_at"]),
        database,
        photographs,
        size - database.stat().st_size,
    )


def is_empty() -> bool:
    """Whether the server holds nothing yet that a copy would take the place of."""
    try:
        tables = connection.introspection.table_names()
        for model in (Person, Change):
            if model._meta.db_table in tables and model._default_manager.exists():
                return False
    except DatabaseError:
        return False  # Something is there, if broken.
    return True


def restore(copy: Copy, out: Any) -> Restored:
    """Put a checked copy back. Raises Trouble, or OSError when the disk fails."""
    done = Restored()
    aside = Path(settings.DATA_DIR) / f"before-restore-{datetime.now(UTC):%Y-%m-%dT%H%M%S}Z"
    _photographs(copy, aside, done, out)
    out.write("Putting the database back …")
    databases.present().put_back(copy.database, aside)
    call_command("migrate", verbosity=0)
    with transaction.atomic():
        log.set_back()
        note(None, "server restored", copy.folder.name, {"made_at": copy.made_at.isoformat()})
    done.kept = _adopt()
    done.aside = aside if aside.exists() else None
    return done


def _not_a_copy(folder: Path) -> str:
    latest = newest(folder) if folder.is_dir() else None
    if latest is None:
        return f"{folder} is not a copy made by “manage.py backup”."
    count = len(list(folder.glob(f"{PREFIX}*")))
    return f"{folder} holds {count} copies. Name one of them; the latest is {latest}"


def _about(folder: Path) -> dict[str, Any]:
    """What a copy says of itself, when this server can take it back. Raises Trouble."""
    try:
        about = json.loads((folder / ABOUT).read_bytes())
    except (OSError, ValueError) as error:
        raise Trouble(f"{folder} is a BagIt bag, but not a copy of a server.") from error
    if not isinstance(about, dict) or about.get("format") != FORMAT:
        raise Trouble(f"{folder} is a BagIt bag, but not a copy of a server.")
    there = {(app, name) for app, name in about["migrations"]}
    unknown = sorted(there - MigrationLoader(None).disk_migrations.keys())
    if about["version"] > VERSION or unknown:
        named = f" ({unknown[0][0]} {unknown[0][1]})" if unknown else ""
        raise Trouble(
            f"This copy is of a newer Fieldleaf{named}. Bring this server up to date first."
        )
    if about["database"] != connection.vendor:
        was, now = (databases.NAMES.get(one, one) for one in (about["database"], connection.vendor))
        raise Trouble(
            f"This copy is of a {was} database, and this server uses {now}. Set "
            "FIELDLEAF_DATABASE for the other, then restore."
        )
    return about


def _photographs(copy: Copy, aside: Path, done: Restored, out: Any) -> None:
    """Bring the copy's photographs to where they lie; whole ones that are there stay."""
    many = count(len(copy.photographs), "photograph")
    out.write(f"Putting {many} back, {in_units(copy.photograph_bytes)} …")
    progress = Progress(out, len(copy.photographs), "photographs")
    for sha256, digest in copy.photographs.items():
        target = files.stored_path(sha256)
        present = files.digest(target) if target.exists() else None
        if present != sha256:
            if digest != sha256:
                done.altered.append(
                    f"Photograph {sha256[:16]}… was altered already when the copy was made."
                )
            if present is not None and present != digest:
                (aside / "photographs").mkdir(parents=True, exist_ok=True)
                os.replace(target, aside / "photographs" / sha256)
            if present != digest:
                durable.copy(copy.folder / PHOTOGRAPHS / sha256[:2] / sha256[2:4] / sha256, target)
                done.photographs += 1
        progress.add(1)


def _adopt() -> int:
    """Make whole photographs known again that came after the copy was made."""
    adopted = 0
    for path in contents.unknown(contents.sizes()):
        if not files.is_sha256(path.name) or files.digest(path) != path.name:
            continue
        try:
            facts = registry.facts_of(path)
        except ValueError:
            continue  # No picture; “manage.py verify” tells of what it does not know.
        StoredFile.objects.create(sha256=path.name, size_bytes=path.stat().st_size, facts=facts)
        adopted += 1
    return adopted
