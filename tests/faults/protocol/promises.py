"""What must hold, whatever happens to the network, the clocks and the processes.

Each function looks at the server's own tables, at what a tablet holds and at the ledger, and
raises ProtocolBroken. None of them asks the code under test what it thinks of itself.
"""

import hashlib
import json
from collections import defaultdict
from typing import Any

from survey.access.models import Device
from survey.sync import files, registry
from survey.sync.models import Change, OpenQuestion, StoredFile
from tests.faults.protocol.ledger import DESK, Ledger, ProtocolBroken, State, Word

DELETED = "deleted"
ACCEPTED = (Change.Outcome.APPLIED, Change.Outcome.QUESTION)
PARTS = ("photograph", "observation", "measurement", "recommendation", "watermark")

Row = dict[str, Any]


class View:
    """The server's tables as they are now, read once.

    changes  the whole log, in order; refused ones first
    rows     every row as (entity, row, wire fields); the fields are None when it is deleted
    """

    def __init__(self) -> None:
        self.changes = list(Change.objects.order_by("number", "id"))
        self.rows: list[tuple[str, Any, Row | None]] = []
        self._carried: dict[str, set[str]] = {}
        for entity in registry.entities():
            rows = entity.model._default_manager.order_by("pk")
            for row, data in zip(rows, entity.serializer(rows, many=True).data, strict=True):
                self.rows.append((entity.name, row, None if row.deleted_at else dict(data)))

    def is_old(self) -> bool:
        return Change.objects.count() != len(self.changes)

    def carried(self, scope: dict[str, Any]) -> set[str]:
        """Keys of the living rows that a device with this scope carries."""
        name = json.dumps(scope)
        if name not in self._carried:
            self._carried[name] = {
                str(key)
                for entity in registry.entities()
                for key in entity.in_scope(
                    entity.model._default_manager.filter(deleted_at=None), scope
                ).values_list("pk", flat=True)
            }
        return self._carried[name]


def check_server(
    view: View, ledger: Ledger, devices: dict[str, str], signed: dict[str, Any]
) -> None:
    """devices: tablet by device id. signed: what signed examinations held, kept up to date."""
    accepted = [change for change in view.changes if change.outcome in ACCEPTED]
    _check_acknowledged(ledger, accepted)
    _check_words(view, ledger, accepted, devices)
    _check_signed(view, signed)


def _check_acknowledged(ledger: Ledger, accepted: list[Change]) -> None:
    by_id = {str(change.pk): change for change in accepted}
    for key in ledger.acknowledged:
        sent, kept = ledger.sent[key], by_id.get(key)
        if kept is None or kept.fields != sent["fields"] or kept.entity_id != sent["entity_id"]:
            raise ProtocolBroken(
                "what is acknowledged is on the server", f"{sent} was, and there is {kept!r}"
            )


def _check_words(
    view: View, ledger: Ledger, accepted: list[Change], devices: dict[str, str]
) -> None:
    """Each word once; and none is gone that nobody had seen before writing over it."""
    rows = {str(row.pk): data for _, row, data in view.rows}
    questions = list(OpenQuestion.objects.select_related("shown", "kept"))
    kept: defaultdict[tuple[str, str], list[Any]] = defaultdict(list)
    for question in questions:
        for side in (question.shown, question.kept):
            kept[question.entity_id, question.field].append(side.fields.get(question.field))
    taken: defaultdict[tuple[str, str], list[tuple[int, Word]]] = defaultdict(list)
    deleted: defaultdict[str, list[frozenset[Any] | None]] = defaultdict(list)
    times: defaultdict[str, int] = defaultdict(int)
    for change in accepted:
        who = devices.get(str(change.device_id), DESK)
        is_sent = who == DESK or str(change.pk) in ledger.sent
        for name, value in change.fields.items():
            word = ledger.words.get(value) if isinstance(value, str) else None
            if word is not None and is_sent and word.key == change.entity_id:
                times[word.text] += change.settles is None
                taken[change.entity_id, name].append((change.number or 0, word))
            elif name == DELETED and value is True:
                deleted[change.entity_id].append(ledger.deletions.get((who, change.entity_id)))
    for text, count in times.items():
        if count > 1:
            raise ProtocolBroken("each change is applied once", f"“{text}” was, {count} times")
    for (key, name), words in taken.items():
        row = rows.get(key)
        for number, word in words:
            stands = row is not None and row.get(name) == word.text
            later = [each for at, each in words if at > number]
            is_replaced = any(each.by == word.by or word.text in each.seen for each in later)
            if stands or is_replaced or word.text in kept[key, name]:
                continue
            gone_with_record = row is None and (
                kept[key, DELETED] or any(_knew(word, seen) for seen in deleted[key])
            )
            if not gone_with_record:
                raise ProtocolBroken(
                    "no word vanishes without a question",
                    f"{word}; there stands {row and row.get(name)!r}; "
                    f"questions {[(q.field, q.entity_id, q.settled_at) for q in questions]}",
                )
    for key in deleted:
        if rows.get(key) is not None and not kept[key, DELETED]:
            raise ProtocolBroken("what was deleted stays so, or a question is open", key)


def _knew(word: Word, seen: "frozenset[Any] | None") -> bool:
    """Whether whoever deleted the record had this word in sight, or had written it."""
    return seen is None or word.text in seen


def _check_signed(view: View, signed: dict[str, Any]) -> None:
    """signed: key of an examination → what it and its parts held when it was found signed."""
    examinations = [row for name, row, _ in view.rows if name == "examination" and row.is_signed]
    for examination in examinations:
        now = {
            str(row.pk): (data, row.deleted_at)
            for name, row, data in view.rows
            if row == examination or (name in PARTS and row.examination_id == examination.pk)
        }
        before = signed.setdefault(str(examination.pk), now)
        if before != now:
            raise ProtocolBroken("signed records never change", f"{before} became {now}")


def check_tablet(view: View, tablet: str, device: Device, state: State) -> None:
    """The tablet has read every row up to its cursor, and holds every file it answers for."""
    _check_files(tablet, state)
    if state["pull"] is None or state["scope"] != device.scope:
        return  # It is to ask for everything anew, or does not know yet that it must.
    cursor = state["pull"]["cursor"]
    if any(
        each.entity in ("object", "move") and (each.number or 0) > cursor for each in view.changes
    ):
        return  # What is in scope may depend on what it has not read yet.
    busy = _busy(state)
    held = {row["id"]: row for rows in state["rows"].values() for row in rows}
    carried = view.carried(device.scope)
    for name, row, data in view.rows:
        key = str(row.pk)
        if key not in carried or row.revision > cursor or key in busy:
            continue
        mine = held.get(key)
        if mine is None or mine["revision"] < row.revision:
            raise ProtocolBroken(
                "the cursor skips nothing",
                f"tablet {tablet} has read up to {cursor}, but of {name} {key} "
                f"(revision {row.revision}) it holds {mine}",
            )
        _compare(tablet, name, mine, data)
    if state["pull"]["isWhole"]:
        for name, row, data in view.rows:
            key = str(row.pk)
            if data is None and row.revision <= cursor and key in held and key not in busy:
                raise ProtocolBroken(
                    "what was deleted goes from every tablet", f"{tablet} holds {name} {key}"
                )


def check_converged(view: View, tablet: str, device: Device, state: State) -> None:
    """Connected and in step, a tablet holds what the server holds of its scope, and no more."""
    busy = _busy(state)
    held = {row["id"]: (name, row) for name, rows in state["rows"].items() for row in rows}
    in_scope = view.carried(device.scope)
    for name, row, data in view.rows:
        key = str(row.pk)
        if key not in in_scope or key in busy:
            continue
        if key not in held:
            raise ProtocolBroken("tablets converge", f"{tablet} lacks {name} {data}")
        _compare(tablet, name, held[key][1], data)
    living = {str(row.pk) for _, row, data in view.rows if data is not None}
    strange = [
        question
        for question in state["questions"]
        if question["entity_id"] in living - in_scope - busy
    ]
    if strange:
        raise ProtocolBroken("tablets converge", f"{tablet} asks of what it lacks: {strange}")
    extra = [each for key, each in held.items() if key not in in_scope | busy]
    if extra:
        raise ProtocolBroken("tablets converge", f"{tablet} holds {extra} beyond its scope")
    open_questions = {
        str(question.pk): question.entity_id
        for question in OpenQuestion.objects.filter(settled_at=None)
    }
    mine = {question["id"] for question in state["questions"]}
    lacking = [key for key, of in open_questions.items() if of in in_scope and key not in mine]
    if lacking or mine - set(open_questions):
        raise ProtocolBroken(
            "tablets converge", f"{tablet} lacks questions {lacking}, or keeps settled ones: {mine}"
        )


def _compare(tablet: str, name: str, mine: Row, data: Row | None) -> None:
    shown = {key: value for key, value in mine.items() if not key.startswith("_")}
    shown.pop("revision")
    if shown != data:
        fields = {
            key: (shown.get(key), (data or {}).get(key))
            for key in shown.keys() | (data or {}).keys()
            if shown.get(key) != (data or {}).get(key)
        }
        raise ProtocolBroken(
            "tablets converge", f"{tablet} shows another {name} {mine['id']}: {fields}"
        )


def _busy(state: State) -> set[str]:
    """Records on which the tablet shows its own word, since it has not been answered."""
    keys = {change["entity_id"] for change in state["outbox"]}
    moved = {row["object"] for row in state["rows"]["move"] if row["id"] in keys}
    return keys | moved


def _check_files(tablet: str, state: State) -> None:
    originals = {original["sha256"]: original for original in state["originals"]}
    for sha256, original in originals.items():
        if original["sent"]:
            if not is_stored(sha256):
                raise ProtocolBroken(
                    "what counts as sent is on the server byte for byte", f"{tablet}: {original}"
                )
        elif original["held"] != sha256:
            raise ProtocolBroken("no original is lost before it is stored", f"{tablet}: {original}")
    for row in state["rows"]["photograph"]:
        if row["revision"] == 0 and row["sha256"] not in originals:
            raise ProtocolBroken("no original is lost before it is stored", f"{tablet}: {row}")


def is_stored(sha256: str) -> bool:
    path = files.stored_path(sha256)
    return (
        StoredFile.objects.filter(pk=sha256).exists()
        and path.is_file()
        and hashlib.sha256(path.read_bytes()).hexdigest() == sha256
    )
