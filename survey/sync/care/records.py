"""Whether the records are what the change log makes of them, and the log whole in itself."""

import json
import uuid
from collections.abc import Callable, Iterable, Iterator
from itertools import groupby, islice
from typing import Any

from django.db.models import Count, Max
from rest_framework.exceptions import ValidationError
from rest_framework.fields import empty
from rest_framework.serializers import ModelSerializer

from survey.access.models import Person
from survey.sync import log, registry
from survey.sync.care.replay import Replayed, replay
from survey.sync.clock import Stamp
from survey.sync.conflict import DELETED
from survey.sync.models import Change, Counter, FieldState, OpenQuestion, SyncedRow
from survey.sync.queries import looked_into
from survey.sync.registry import Entity

# Records that are held in memory at once.
A_BATCH = 500
LONGEST_VALUE = 60


def faults(progress: Callable[[int], None]) -> Iterator[str]:
    """A sentence for each fault in the log and in the records it made.

    ``progress`` is told the number of changes that were played again, time by time.
    """
    yield from _of_numbers()
    yield from _of_clock()
    yield from _of_outcomes()
    known = {entity.name: entity for entity in registry.entities()}
    for name in Change.objects.values_list("entity", flat=True).distinct().order_by("entity"):
        if name not in known and Change.objects.filter(entity=name, number__gt=0).exists():
            yield f"The log has changes of “{name}”, a kind of record that is not kept here."
    for entity in known.values():
        yield from _of_entity(entity, progress)
    for check in registry.checks():
        yield from check()


def _of_numbers() -> Iterator[str]:
    """Numbers run from 1 without a gap, and the counter stands at the last one."""
    numbered = Change.objects.exclude(number=None)
    found = numbered.aggregate(count=Count("number"), last=Max("number"))
    last = found["last"] or 0
    lost = dict(log.history().lost)
    if lost or found["count"] != last:
        yield from _gaps(numbered.order_by("number").values_list("number", flat=True), lost)
    counter, expected = log.last_number(), _after(last, lost) - 1
    if counter != expected:
        yield f"The counter of changes stands at {counter:,}, but the last change is {expected:,}."


def _gaps(numbers: Any, lost: dict[int, int]) -> Iterator[str]:
    before = 0
    for number in numbers.iterator():
        expected = _after(before, lost)
        if number > expected + 1:
            yield f"The change log has a gap: {expected:,} to {number - 1:,} are missing."
        elif number > expected:
            yield f"The change log has a gap: number {expected:,} is missing."
        before = number


def _after(number: int, lost: dict[int, int]) -> int:
    """The next number that is given out, past those that went when the server was set back."""
    following = number + 1
    while following - 1 in lost:
        following = lost[following - 1]
    return following


def _of_clock() -> Iterator[str]:
    latest = Change.objects.exclude(number=None).aggregate(latest=Max("at"))["latest"]
    ticks = Counter.objects.filter(name=log.CLOCK).values_list("value", flat=True).first() or 0
    try:
        is_behind = latest is not None and Stamp.parse(latest).ticks > ticks
    except ValueError:
        yield f"The change log holds “{latest}”, which is no time of the shared clock."
        return
    if is_behind:
        yield "The server’s clock stands behind the last change: later words would seem earlier."


def _of_outcomes() -> Iterator[str]:
    refused = Change.Outcome.REFUSED
    for change in Change.objects.filter(outcome=refused).exclude(number=None).iterator():
        yield f"Change {change.pk} was refused and yet has the number {change.number:,}."
    for change in Change.objects.filter(number=None).exclude(outcome=refused).iterator():
        if change.fields != {DELETED: True}:
            yield f"Change {change.pk} was applied and yet has no number: nobody pulls it."


def _of_entity(entity: Entity, progress: Callable[[int], None]) -> Iterator[str]:
    matched = 0
    context: dict[str, Any] = {}
    serializer = entity.serializer(context=context)
    people = Person.objects.in_bulk()
    for histories in _batched(_histories(entity)):
        batch = dict(histories)
        rows = _rows(entity, batch)
        states = _by_record(FieldState.objects.select_related("change"), entity, batch)
        questions = _by_record(OpenQuestion.objects.select_related("shown", "kept"), entity, batch)
        matched += len(rows)
        for key, changes in batch.items():
            record = replay(changes)
            if key not in rows:
                yield f"{_named(entity, key)} is in the change log, but not among the records."
                continue
            row, wire = rows[key]
            context["person"] = people.get(changes[0].person_id or 0)
            for fault in (
                *_of_row(entity, serializer, row, wire, record),
                *_of_states(record, states.get(key, [])),
                *_of_questions(record, changes, questions.get(key, [])),
            ):
                yield f"{_named(entity, key, row)}: {fault}"
        progress(sum(len(changes) for changes in batch.values()))
    if entity.model._default_manager.count() != matched:
        yield from _unlogged(entity)


def _histories(entity: Entity) -> Iterator[tuple[str, list[Change]]]:
    """The numbered changes of each record, record by record."""
    changes = Change.objects.filter(entity=entity.name).exclude(number=None)
    ordered = changes.order_by("entity", "entity_id", "number").iterator(chunk_size=2000)
    for key, of_record in groupby(ordered, key=lambda change: change.entity_id):
        yield key, list(of_record)


def _batched(histories: Iterator[Any]) -> Iterator[list[Any]]:
    while batch := list(islice(histories, A_BATCH)):
        yield batch


def _rows(entity: Entity, keys: Iterable[str]) -> dict[str, tuple[SyncedRow, dict[str, Any]]]:
    """The rows with these keys, each with its fields as they go over the wire."""
    found = entity.model._default_manager.filter(pk__in=[key for key in keys if _is_key(key)])
    rows = list(found.select_related(*looked_into(entity)))
    wires = entity.serializer(rows, many=True).data
    return {str(row.pk): (row, wire) for row, wire in zip(rows, wires, strict=True)}


def _is_key(text: str) -> bool:
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True


def _by_record(found: Any, entity: Entity, keys: Iterable[str]) -> dict[str, list[Any]]:
    by_key: dict[str, list[Any]] = {}
    for one in found.filter(entity=entity.name, entity_id__in=list(keys)):
        by_key.setdefault(one.entity_id, []).append(one)
    return by_key


def _unlogged(entity: Entity) -> Iterator[str]:
    keys = entity.model._default_manager.order_by("pk").values_list("pk", flat=True)
    for batch in _batched(keys.iterator()):
        changes = Change.objects.filter(
            entity=entity.name, entity_id__in=[str(key) for key in batch]
        )
        logged = set(changes.exclude(number=None).values_list("entity_id", flat=True))
        for key in batch:
            if str(key) not in logged:
                yield f"{_named(entity, str(key))} is among the records, but not in the change log."


def _of_row(
    entity: Entity,
    serializer: "ModelSerializer[Any]",
    row: SyncedRow,
    wire: dict[str, Any],
    record: Replayed,
) -> Iterator[str]:
    if record.last is not None and row.revision != record.last.number:
        yield f"its revision is {row.revision:,}, but its last change is {record.last.number:,}."
    if (row.deleted_at is not None) != record.is_deleted:
        now, then = ("is", "does not say so") if row.deleted_at else ("is not", "says it was")
        yield f"it {now} deleted, but the log {then}."
    for name, field in serializer.fields.items():
        if field.read_only:
            continue
        change = record.shown.get(name)
        if change is None:
            expected = _unsaid(entity, serializer, name, wire[name])
        else:
            expected = _as_kept(field, change.fields.get(name), wire[name])
        if expected != wire[name]:
            said = f"change {change.number:,} says" if change else "the log leaves"
            yield f"“{name}” is {_short(wire[name])}, but {said} {_short(expected)}."


def _as_kept(field: Any, said: Any, kept: Any) -> Any:
    """What a field holds after it was told this: the same time or number may be spelt anew."""
    if said == kept:
        return kept
    field.validators = []  # It was found good when it came; only its spelling matters here.
    try:
        value = field.run_validation(said)
    except ValidationError:
        return said
    return None if value is None else field.to_representation(value)


def _unsaid(entity: Entity, serializer: "ModelSerializer[Any]", name: str, kept: Any) -> Any:
    """What a field holds that no change ever spoke of; ``kept`` itself where that is open."""
    field: Any = serializer.fields[name]
    if name in entity.filled:
        return kept
    if field.default is not empty:
        value = field.get_default()
    else:
        column: Any = entity.model._meta.get_field(field.source)
        value = column.get_default()
        if value != column.get_default():
            return kept  # The moment at which it was made, say.
    return None if value is None else field.to_representation(value)


def _of_states(record: Replayed, states: list[FieldState]) -> Iterator[str]:
    held = {state.field: state.change for state in states}
    for name in sorted(held.keys() | record.altered.keys()):
        expected, found = record.altered.get(name), held.get(name)
        if expected != found:
            yield (
                f"“{name}” was last set by {_numbered(expected)}, but {_numbered(found)} is noted, "
                "against which the next one would be weighed."
            )


def _of_questions(
    record: Replayed, changes: list[Change], questions: list[OpenQuestion]
) -> Iterator[str]:
    asked_about = {question.field for question in questions}
    for change in changes:
        fields = record.asked.get(change.pk, set())
        if bool(fields) != (change.outcome == Change.Outcome.QUESTION):
            verb = "opened" if fields else "opened no"
            yield f"{_numbered(change)} {verb} question, but is noted as “{change.outcome}”."
        for name in sorted(fields - asked_about):
            yield f"{_numbered(change)} left a question about “{name}”, and it is gone."
    mine = {change.pk for change in changes}
    for question in questions:
        shown = record.shown.get(question.field)
        if not {question.shown_id, question.kept_id} <= mine:
            yield f"the question about “{question.field}” is between changes of another record."
        elif not record.asked:
            yield f"a question about “{question.field}” is kept that no change left open."
        elif question.is_open and question.shown != shown:
            yield (
                f"the question about “{question.field}” shows {_numbered(question.shown)}, "
                f"but {_numbered(shown)} stands."
            )


def _numbered(change: Change | None) -> str:
    return "no change" if change is None else f"change {change.number or 0:,}"


def _named(entity: Entity, key: str, row: SyncedRow | None = None) -> str:
    """A record in words. Rows without words of their own are named by their key alone."""
    has_words = row is not None and type(row).__str__ is not SyncedRow.__str__
    return f"{entity.name.capitalize()} {key}" + (f" ({row})" if has_words else "")


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= LONGEST_VALUE else f"{text[:LONGEST_VALUE]}…"
