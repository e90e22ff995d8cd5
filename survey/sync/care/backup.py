"""Copies of all that the server keeps, each a BagIt bag that stands by itself.

A place holds many of them. A photograph never changes, so one that an earlier copy has is not
written again: the new copy gives the same file a second name (a hard link). The database is
copied first and the photographs after it, so that every photograph which the copied database
speaks of is there; those that come meanwhile are harmless. Nothing is called a copy before all
of it was read back and hashed.
"""

import contextlib
import fcntl
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from survey.sync import durable, files
from survey.sync.care import bags, contents, databases
from survey.sync.care.progress import Progress, count, in_units
from survey.sync.care.trouble import Trouble

FORMAT = "fieldleaf-backup"
VERSION = 1
ABOUT = "data/about.json"
PHOTOGRAPHS = "data/photographs"
PREFIX = "fieldleaf-"
UNFINISHED = "unfinished"


@dataclass
class Made:
    """A finished copy, and a sentence for each photograph that the server no longer has whole.

    linked  photographs that an earlier copy had, written already and not again
    """

    folder: Path
    photographs: int = 0
    new: int = 0
    new_bytes: int = 0
    linked: int = 0
    faults: list[str] = field(default_factory=list)


def back_up(place: Path, out: Any) -> Made:
    """Make a copy in a folder of copies. Progress is written to ``out``.

    Raises Trouble, or OSError when a disk fails: no earlier copy is touched, and the next run
    goes on with what this one had written.
    """
    place.mkdir(parents=True, exist_ok=True)
    with _alone(place):
        folder = place / UNFINISHED
        (folder / "data").mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        made_at = datetime.now(UTC)
        made = Made(place / f"{PREFIX}{made_at:%Y-%m-%dT%H%M%S}Z")
        if made.folder.exists():
            raise Trouble("There is a copy of this very second. Run the command once more.")

        out.write("Copying the database …")
        kind = databases.present()
        database = kind.copy_to(folder / "data")
        kind.check(database)
        payload = {f"data/{database.name}": files.digest(database)}
        payload |= _photographs(folder, newest(place), made, out)
        about = {
            "format": FORMAT,
            "version": VERSION,
            "made_at": made_at.isoformat(),
            "database": connection.vendor,
            "database_file": database.name,
            "migrations": _migrations(),
        }
        bags.write_durably(folder / ABOUT, json.dumps(about, indent=1))
        payload[ABOUT] = files.digest(folder / ABOUT)
        _remove_others(folder, payload)
        bags.write_tags(
            folder,
            payload,
            {
                "Bag-Software-Agent": "Fieldleaf",
                "Bagging-Date": f"{made_at:%Y-%m-%d}",
                "External-Description": "Copy of the records and photographs of a server",
            },
        )
        durable.flush(folder)
        os.rename(folder, made.folder)
        durable.flush(place)
    return made


def newest(place: Path) -> Path | None:
    """The latest finished copy in a folder of copies."""
    return max((one for one in place.glob(f"{PREFIX}*") if one.is_dir()), default=None)


@contextlib.contextmanager
def _alone(place: Path) -> Iterator[None]:
    descriptor = os.open(place, os.O_RDONLY)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise Trouble(f"Another backup to {place} is under way. Wait until it ends.") from None
        except OSError:
            pass  # Some network folders know no locks.
        yield
    finally:
        os.close(descriptor)


def _photographs(folder: Path, earlier: Path | None, made: Made, out: Any) -> dict[str, str]:
    """Bring every photograph into the copy, and read it back. Their digests by path."""
    known = contents.sizes()
    total = sum(known.values())
    out.write(f"Copying and reading back {count(len(known), 'photograph')}, {in_units(total)} …")
    progress = Progress(out, total)
    payload = {}
    for sha256, size in known.items():
        path = f"{PHOTOGRAPHS}/{sha256[:2]}/{sha256[2:4]}/{sha256}"
        there = earlier / path if earlier else None
        try:
            payload[path] = _photograph(sha256, folder / path, there, made)
        except FileNotFoundError:
            made.faults.append(
                f"{contents.named(sha256)} is missing on the server, and no copy at this place "
                "has it."
            )
        else:
            made.photographs += 1
            if payload[path] != sha256:
                made.faults.append(
                    f"{contents.named(sha256)} is altered on the server: it was copied as it is."
                )
        progress.add(size)
    return payload


def _photograph(sha256: str, target: Path, there: Path | None, made: Made) -> str:
    """Bring one photograph into the copy. Returns the digest of what then lies there."""
    if target.exists():  # From a run that was broken off.
        if files.digest(target) == sha256:
            made.new += 1
            made.new_bytes += target.stat().st_size
            return sha256
        target.unlink()
    if there is not None and there.exists():
        target.parent.mkdir(parents=True, exist_ok=True)
        with contextlib.suppress(OSError):  # Not every kind of disk has hard links.
            os.link(there, target)
            if files.digest(target) == sha256:
                made.linked += 1
                return sha256
            target.unlink()
    durable.copy(files.stored_path(sha256), target)
    made.new += 1
    made.new_bytes += target.stat().st_size
    return files.digest(target)


def _migrations() -> list[list[str]]:
    return sorted([app, name] for app, name in MigrationRecorder(connection).applied_migrations())


def _remove_others(folder: Path, payload: dict[str, str]) -> None:
    """Take away what a run that was broken off left and this one does not need."""
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_dir():
            with contextlib.suppress(OSError):
                path.rmdir()  # Only when it is empty.
        elif path.relative_to(folder).as_posix() not in payload:
            path.unlink()


def is_on_the_same_disk(place: Path, data: Path) -> bool:
    """Whether one broken disk would take both the server's data and its copy."""
    return place.stat().st_dev == data.stat().st_dev
