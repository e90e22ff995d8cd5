"""What changes synced rows: one road for tablets and for the desk, and every step is logged.

``push`` takes a tablet's changes, ``record_change`` is an edit made on the server,
``log_many`` logs rows that were created in bulk, ``send_again`` lets rows be pulled anew,
``settle`` answers an open question.
"""

import json
import logging
from collections.abc import Iterable, Sequence
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import DataError, IntegrityError, OperationalError, models, transaction

from survey.access.models import Person
from survey.ids import new_id
from survey.sync import conflict, log, registry
from survey.sync.apply import Refused, apply, apply_from_tablet, settable_fields
from survey.sync.clock import Stamp, is_too_far_ahead
from survey.sync.models import Change, OpenQuestion, SyncedRow
from survey.sync.registry import Entity, Fields

__all__ = [
    "AlreadySettled",
    "Refused",
    "log_many",
    "push",
    "record_change",
    "send_again",
    "settle",
]

logger = logging.getLogger(__name__)


class AlreadySettled(Exception):
    """Someone else answered the question before."""


def record_change(name: str, row: SyncedRow | None, fields: Fields, person: Person | None) -> Any:
    """Apply an edit made on the server, and log it. Returns the row as it now stands.

    name    a registered entity, such as "object"
    row     a saved row, brought up to date in place; None makes a new one
    fields  new values by wire name, and only those touched. Values may be Python's own: a
            model instance, a date, a key. {"deleted": True} leaves a tombstone
    person  who made it; None for the server itself

    The same checks hold as for a tablet, but for the list of fields a tablet may set.
    Raises Refused, and then nothing was altered.
    """
    entity = _registered(name)
    with transaction.atomic():
        log.lock()
        if row is not None:
            row.refresh_from_db()
        change = Change(
            entity=name,
            entity_id=str(row.pk if row is not None else new_id()),
            fields=_as_wire(fields),
            base=log.last_number(),
            at=str(log.tick()),
            person=person,
        )
        return apply(change, entity, row)


def log_many(name: str, rows: Sequence[SyncedRow], person: Person | None) -> None:
    """Log the creation of many rows that were just saved, such as an import of 2,000 objects.

    Call it in the transaction that saved them. The rows are not validated again: whoever
    saved them did that. Sets ``revision`` on each.
    """
    entity = _registered(name)
    if any(row._state.adding for row in rows):
        raise ValueError("Save the rows first, then log them.")
    with transaction.atomic():
        serializer = entity.serializer(rows, many=True, context={"person": person})
        settable = settable_fields(entity)
        said = [{key: data[key] for key in data if key in settable} for data in serializer.data]
        changes = [Change(fields=_as_wire(fields), person=person) for fields in said]
        _number(entity, rows, changes)


def send_again(name: str, rows: Iterable[SyncedRow]) -> None:
    """Give rows a new number in the log, without a word of theirs changed.

    For rows that come into what some device carries, or leave it, though nothing is said of
    them: a device asks only for what has a number above the last it saw.
    """
    entity = _registered(name)
    rows = list(rows)
    with transaction.atomic():
        base = log.last_number()
        _number(entity, rows, [Change(base=base) for _ in rows])


def _number(entity: Entity, rows: Sequence[SyncedRow], changes: Sequence[Change]) -> None:
    """Keep a change to each row under the next numbers of the log, and the number on the row."""
    first = log.take_numbers(len(rows))
    at = str(log.tick())
    for number, (row, change) in enumerate(zip(rows, changes, strict=True), first):
        row.revision = change.number = number
        change.entity, change.entity_id = entity.name, str(row.pk)
        change.at, change.outcome = at, Change.Outcome.APPLIED
    Change.objects.bulk_create(changes, batch_size=500)
    entity.model._default_manager.bulk_update(rows, ["revision"], batch_size=500)


def push(arrived: Iterable[Change]) -> tuple[list[Change], Stamp]:
    """Apply a tablet's changes in order. Returns them with their outcomes, and the clock.

    ``arrived``: unsaved changes with their id, entity, entity_id, fields, base, at, person and
    device. All is one transaction, each change a savepoint of it: a refused one hinders no
    other. A change that came before gets the outcome it had, and alters nothing.
    """
    arrived = list(arrived)
    with transaction.atomic():
        log.lock()
        now_ms = log.wall_clock_ms()
        stamps = [stamp for change in arrived if (stamp := _stamp(change))]
        heard = [stamp for stamp in stamps if not is_too_far_ahead(stamp, now_ms)]
        log.tick(heard=max(heard, default=None))
        history = log.history()
        known = Change.objects.in_bulk([change.pk for change in arrived])
        taken = []
        for change in arrived:
            if change.pk in known:
                change = _replayed(known[change.pk], change)
            else:
                if not history.has(change.base):
                    change.base = 0  # The server was set back to a copy: nothing counts as seen.
                known[change.pk] = _take(change, now_ms)
            taken.append(change)
        return taken, log.tick()


def settle(question: OpenQuestion, value: Any, person: Person) -> None:
    """Answer a question at the desk: the value stands in the record, the question is closed.

    A tablet answers by a change that names the question; see apply. Raises AlreadySettled when
    somebody gave another answer meanwhile, or Refused when the record does not take the value.
    """
    entity = _registered(question.entity)
    with transaction.atomic():
        log.lock()
        question.refresh_from_db()
        change = Change(
            entity=question.entity,
            entity_id=question.entity_id,
            fields={question.field: value},
            base=log.last_number(),
            at=str(log.tick()),
            person=person,
            settles=question.pk,
        )
        if not question.is_open:
            if conflict.restates(change, question):
                return
            raise AlreadySettled
        apply(change, entity, entity.model._default_manager.get(pk=question.entity_id))


def _registered(name: str) -> Entity:
    entity = registry.named(name)
    if entity is None:
        raise LookupError(f"No entity is called {name}.")
    return entity


class _WireEncoder(DjangoJSONEncoder):
    def default(self, o: Any) -> Any:
        return str(o.pk) if isinstance(o, models.Model) else super().default(o)


def _as_wire(fields: Fields) -> dict[str, Any]:
    """The fields as they would have come over the wire."""
    plain: dict[str, Any] = json.loads(json.dumps(dict(fields), cls=_WireEncoder))
    return plain


def _stamp(change: Change) -> Stamp | None:
    try:
        return Stamp.parse(change.at)
    except ValueError:
        return None


def _take(change: Change, now_ms: int) -> Change:
    """Apply one change from a tablet, or keep it with the reasons why not."""
    stamp = _stamp(change)
    if stamp is None:
        _refuse(change, {"": f"“{change.at}” is not a time of the shared clock."})
        return change
    if is_too_far_ahead(stamp, now_ms):
        change.at = str(log.tick(stamp.node))
        change.clock_clamped = True
    try:
        with transaction.atomic():
            apply_from_tablet(change)
    except Refused as refusal:
        _refuse(change, refusal.reasons)
    except (IntegrityError, DataError):
        logger.exception("The database did not take change %s.", change.pk)
        _refuse(change, {"": "This does not fit with the records that the server already has."})
    except OperationalError:
        raise  # The database is busy, full or away: the whole batch may be sent again.
    except Exception:
        # One change that meets a fault must not hold up a day's work behind it.
        logger.exception("Change %s met a fault.", change.pk)
        _refuse(
            change,
            {
                "": "The server failed on this change and noted the fault. Nothing is lost: it is "
                "kept here and on the tablet. Tell whoever looks after Fieldleaf."
            },
        )
    return change


def _replayed(earlier: Change, change: Change) -> Change:
    if earlier.fields == change.fields:
        return earlier
    # Not kept: its key is taken. The tablet still has it, and is told to send it anew.
    change.outcome = Change.Outcome.REFUSED
    change.reasons = {
        "": "A change with this id but other contents came before. Send this one under a new id."
    }
    return change


def _refuse(change: Change, reasons: dict[str, str]) -> None:
    change.number = None
    change.outcome = Change.Outcome.REFUSED
    change.reasons = reasons
    change.save(force_insert=True)
