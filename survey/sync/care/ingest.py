"""Takes in by hand what a tablet could not send: a file of unsent work that it saved.

The file is a ZIP of a BagIt bag (RFC 8493): data/work.json has the changes that wait on the
tablet, in their order, and data/photographs/ the originals by their SHA-256. All goes the road
that it would have gone over the network, so that what was sent already does nothing the second
time, and what the tablet sends later does nothing either.
"""

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings

from survey.access.models import Device, Person
from survey.access.services import note
from survey.sync import files, services
from survey.sync.api import MOST_CHANGES, ChangeSerializer
from survey.sync.care import bags, contents, unpacking
from survey.sync.care.progress import Progress, count, in_units
from survey.sync.models import Change

FORMAT = "fieldleaf-unsent-work"
VERSION = 1
WORK = "data/work.json"
PHOTOGRAPHS = "data/photographs/"
# Of a change's time, before the device: milliseconds, a counter, and the hyphens after them.
STAMP_DIGITS = len("1772532672000-0000-")
MOST_WORK_BYTES = 512 * 1024**2


class NotTaken(ValueError):
    """Carries a sentence: nothing of this file was taken in."""


@dataclass
class Report:
    """What became of a file. Each photograph and change is counted once.

    refused  changes that the server does not take, each with its reasons in a sentence
    faults   photographs and changes that could not even be tried, each in a sentence
    """

    photographs_taken: int = 0
    photographs_known: int = 0
    changes_taken: int = 0
    changes_known: int = 0
    questions: int = 0
    refused: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def is_complete(self) -> bool:
        return not self.refused and not self.faults


def ingest(source: Path, out: Any) -> Report:
    """Take a file of unsent work in. Progress is written to ``out``.

    Raises NotTaken, and OSError or OperationalError when the disk or the database fails: what
    was taken until then stays, and the same file can be taken in again.
    """
    stage = Path(settings.UPLOADS_DIR)
    stage.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="ingest-", dir=stage) as folder:
        out.write(f"Unpacking {source.name}, {in_units(source.stat().st_size)} …")
        bag, sound, faults = _opened(source, Path(folder), out)
        work = _work(bag)
        report = Report(faults=faults)
        _take_photographs(bag, sound, work, report, out)
        _take_changes(work, report, out)
    note(
        None,
        "unsent work taken in",
        source.name,
        {
            "made_at": work.get("made_at"),
            "people": work.get("people"),
            "photographs": report.photographs_taken,
            "changes": report.changes_taken,
            "refused": len(report.refused),
            "not_taken": len(report.faults),
        },
    )
    return report


def _opened(source: Path, folder: Path, out: Any) -> tuple[Path, set[str], list[str]]:
    """The bag's folder, its paths that are as they were saved, and a sentence for the others."""
    try:
        damaged = unpacking.unpack(source, folder)
        bag = _top(folder)
        entries = bags.entries_of(bag)
    except (unpacking.BadZip, bags.NoBag) as error:
        raise NotTaken(str(error)) from error
    size = sum(path.stat().st_size for path in bag.rglob("*") if path.is_file())
    faulty = dict(bags.faults(bag, entries, Progress(out, size).add))
    for name in damaged:
        path = name.removeprefix(f"{bag.relative_to(folder).as_posix()}/")
        faulty[path] = "is damaged: its bytes are not those that were saved"
    faults = []
    for path, fault in faulty.items():
        if not path.startswith(PHOTOGRAPHS):
            raise NotTaken(f"In this file {path} {fault}. Save it on the tablet once more.")
        named = contents.named(path.removeprefix(PHOTOGRAPHS))
        faults.append(f"{named} {fault} in this file. It is still on the tablet.")
    return bag, entries.keys() - faulty.keys(), faults


def _top(folder: Path) -> Path:
    """The folder itself, or the one folder in it that holds everything."""
    inside = list(folder.iterdir())
    return inside[0] if len(inside) == 1 and inside[0].is_dir() else folder


def _work(bag: Path) -> dict[str, Any]:
    path = bag / WORK
    if not path.is_file():
        raise NotTaken("This is a BagIt bag, but not one of unsent work: data/work.json is absent.")
    if path.stat().st_size > MOST_WORK_BYTES:
        raise NotTaken(f"data/work.json has {in_units(path.stat().st_size)}: no tablet saves that.")
    try:
        work = json.loads(path.read_bytes())
    except ValueError as error:
        raise NotTaken(f"data/work.json cannot be read: {error}.") from error
    if not isinstance(work, dict) or work.get("format") != FORMAT:
        raise NotTaken("data/work.json is not Fieldleaf’s list of unsent work.")
    version = work.get("version")
    if not isinstance(version, int) or version < 1:
        raise NotTaken("data/work.json does not say which version of the list it is.")
    if version > VERSION:
        raise NotTaken(
            f"This file is of version {version}, and this server knows version {VERSION}: a newer "
            "app saved it. Bring the server up to date, then run the command again."
        )
    for name in ("changes", "photographs"):
        listed = work.get(name)
        if not isinstance(listed, list) or not all(isinstance(one, dict) for one in listed):
            raise NotTaken(f"data/work.json has no list of {name}.")
    return work


def _take_photographs(
    bag: Path, sound: set[str], work: dict[str, Any], report: Report, out: Any
) -> None:
    present = {path.removeprefix(PHOTOGRAPHS) for path in sound if path.startswith(PHOTOGRAPHS)}
    known = set(files.stored_of(filter(files.is_sha256, present)))
    report.photographs_known = len(known)
    for sha256 in sorted({str(one.get("sha256")) for one in work["photographs"]} - present):
        if not any(sha256[:16] in fault for fault in report.faults):
            report.faults.append(
                f"{contents.named(sha256)} is listed in this file, but not in it. It is still on "
                "the tablet."
            )
    new = sorted(present - known)
    out.write(f"Taking in {count(len(new), 'photograph')} …")
    taken = Progress(out, len(new), "photographs")
    for sha256 in new:
        try:
            files.store(bag / PHOTOGRAPHS / sha256, sha256)
            report.photographs_taken += 1
        except files.WrongContent:
            report.faults.append(
                f"{contents.named(sha256)} is not what its name says. It is still on the tablet."
            )
        except ValueError as error:
            report.faults.append(f"{contents.named(sha256)} was not taken: {error}")
        taken.add(1)


def _take_changes(work: dict[str, Any], report: Report, out: Any) -> None:
    changes = list(_readable(work, report))
    out.write(f"Taking in {count(len(changes), 'change')} …")
    progress = Progress(out, len(changes), "changes")
    for start in range(0, len(changes), MOST_CHANGES):
        batch = changes[start : start + MOST_CHANGES]
        known = set(
            Change.objects.filter(pk__in=[one.pk for one in batch]).values_list("pk", flat=True)
        )
        taken, _clock = services.push(batch)
        for change in taken:
            if change.outcome == Change.Outcome.REFUSED:
                report.refused.append(_refusal(change, change.pk in known))
            elif change.pk in known:
                report.changes_known += 1
            else:
                report.changes_taken += 1
                report.questions += change.outcome == Change.Outcome.QUESTION
            known.add(change.pk)
        progress.add(len(batch))


def _readable(work: dict[str, Any], report: Report) -> Iterator[Change]:
    """The changes in their order, but for those that nobody here can have made."""
    people = {str(person.pk): person for person in Person.objects.all()}
    devices = {str(device.pk): device for device in Device.objects.all()}
    given = work.get("devices")
    last_used = given if isinstance(given, dict) else {}
    for number, raw in enumerate(work["changes"], 1):
        named = f"Change {number:,} of the file ({raw.get('entity')} {raw.get('entity_id')})"
        read = ChangeSerializer(data=raw)
        if not read.is_valid():
            wrong = "; ".join(f"{name}: {_sentence(said)}" for name, said in read.errors.items())
            report.faults.append(f"{named} cannot be read: {wrong}")
            continue
        person = people.get(str(raw.get("person")))
        if person is None:
            report.faults.append(f"{named} is by somebody whom this server does not know.")
            continue
        device = _device_of(read.validated_data["at"], person, devices, last_used)
        if device is None:
            report.faults.append(
                f"{named} was made on a tablet on which {person.name} never signed in to this "
                "server."
            )
            continue
        yield Change(**read.validated_data, person=person, device=device)


def _device_of(
    at: str, person: Person, devices: dict[str, Device], last_used: dict[str, Any]
) -> Device | None:
    """The device that ends the change's time. Where this server does not know it, having been
    set back to a copy, it is the one on which its person last signed in on that tablet."""
    device = devices.get(at[STAMP_DIGITS:])
    if device is None:
        device = devices.get(str(last_used.get(str(person.pk))))
    return device if device is not None and device.person_id == person.pk else None


def _refusal(change: Change, was_known: bool) -> str:
    reasons = " ".join(
        f"{name}: {sentence}" if name else sentence for name, sentence in change.reasons.items()
    )
    before = " when it came before" if was_known else ""
    who = change.person.name if change.person else ""
    return (
        f"Refused{before}: {change.entity} {change.entity_id} by {who} "
        f"({', '.join(sorted(change.fields))}). {reasons}"
    )


def _sentence(said: Any) -> str:
    if isinstance(said, dict):
        return " ".join(_sentence(part) for part in said.values())
    if isinstance(said, list):
        return " ".join(_sentence(part) for part in said)
    return str(said)
