"""How one change reaches its row: checked, weighed, written and logged, or refused whole.

Everything here runs inside a transaction that holds the log; see services.
"""

import uuid
from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from rest_framework.serializers import ModelSerializer

from survey.access.models import Person
from survey.sync import conflict, log, registry
from survey.sync.conflict import DELETED
from survey.sync.models import Change, FieldState, OpenQuestion, SyncedRow
from survey.sync.registry import Entity, Fields


class Refused(Exception):
    """A change that altered nothing. ``reasons``: a sentence by field, "" for the whole."""

    def __init__(self, reasons: Mapping[str, str]) -> None:
        super().__init__(" ".join(reasons.values()))
        self.reasons = dict(reasons)


def apply_from_tablet(change: Change) -> None:
    """Apply a change that came over the wire; a tablet may set less than the desk."""
    entity = registry.named(change.entity)
    if entity is None:
        raise Refused({"": f"This server keeps no records called “{change.entity}”."})
    if not entity.writable:
        raise Refused({"": f"A tablet cannot change this kind of record: {entity.name}."})
    closed = set(change.fields) - entity.writable - {DELETED}
    if closed:
        known = settable_fields(entity)
        raise Refused(
            {
                field: f"A tablet cannot set “{field}”." if field in known else _no_field(field)
                for field in closed
            }
        )
    try:
        change.entity_id = str(uuid.UUID(change.entity_id))
    except ValueError:
        raise Refused({"": f"“{change.entity_id}” cannot be the key of a record."}) from None
    row = entity.model._default_manager.filter(pk=change.entity_id).first()
    if row is not None:
        _check_within(change, entity)
    if row is None and change.fields == {DELETED: True}:
        change.outcome = Change.Outcome.APPLIED  # It is not there, which is what was wanted.
        change.save(force_insert=True)
    else:
        apply(change, entity, row)
        _check_within(change, entity)


def _check_within(change: Change, entity: Entity) -> None:
    """Raises Refused when a device with a narrow scope reaches for what is not its own."""
    scope = change.device.scope if change.device else {}
    if not registry.is_narrowed(scope):
        return
    rows = entity.model._default_manager.filter(pk=change.entity_id)
    if not registry.own(entity, rows, scope).exists():
        raise Refused({"": "Your pass does not open this record, or opens it for reading only."})


def apply(change: Change, entity: Entity, row: SyncedRow | None) -> SyncedRow:
    """Write an unsaved change to its row and to the log. Returns the row.

    row  None when the change makes a new one

    A change that answers an open question closes it, and is then weighed like any other: what
    somebody said meanwhile without seeing the answer, be it another answer, is not overwritten
    but asked about anew. An answer that lets stand what stands is taken even by a signed record.

    Raises Refused. The caller holds a savepoint, so that nothing half done stays.
    """
    if DELETED in change.fields and not isinstance(change.fields[DELETED], bool):
        raise Refused({DELETED: "Deletion is said by true or false."})
    question = _answered(change)
    restates = question is not None and conflict.restates(change, question)
    forbidden = {} if restates else registry.forbidden(entity, row, change.fields, change.person)
    if forbidden:
        raise Refused(forbidden)
    fields = set(change.fields) | _revival(change, row)
    values = {} if restates else change.fields
    serializer = _checked(entity, row, values, change.person)

    change.number = log.take_numbers()
    change.outcome = Change.Outcome.APPLIED
    change.save(force_insert=True)
    if question is not None and question.is_open:
        conflict.settle(question, change.person_id)
    stands = fields
    if row is not None:
        stands, asked = conflict.weigh(change, fields)
        if asked:
            change.outcome = Change.Outcome.QUESTION
            change.save(update_fields=["outcome"])
        if not set(change.fields) <= stands:
            shown = {field: change.fields[field] for field in stands & set(change.fields)}
            serializer = _checked(entity, row, shown, change.person)

    columns: dict[str, Any] = {"revision": change.number}
    if DELETED in stands:
        # Deleted once more, a record went when it first did.
        went_at = (row and row.deleted_at) or timezone.now()
        columns["deleted_at"] = went_at if conflict.value_of(change, DELETED) else None
    row = _written(row, serializer, change.entity_id, columns)
    registry.follow(entity, row, change.fields, change.person)
    return row


def _answered(change: Change) -> OpenQuestion | None:
    """The question that the change answers, if any. Raises Refused when it is about another."""
    if change.settles is None:
        return None
    question = OpenQuestion.objects.filter(
        pk=change.settles, entity=change.entity, entity_id=change.entity_id
    ).first()
    if question is None or question.field not in change.fields:
        raise Refused(
            {"": "This answers an open question, but not one about this field of this record."}
        )
    return question


def settable_fields(entity: Entity) -> set[str]:
    """The fields of the wire that a change can set at all."""
    fields = entity.serializer().fields
    return {name for name, field in fields.items() if not field.read_only}


def _no_field(field: str) -> str:
    return f"There is no field called “{field}” here."


def _revival(change: Change, row: SyncedRow | None) -> set[str]:
    """{"deleted"} when the change is to a row whose deletion its author could not know of.

    Raises Refused when the author knew.
    """
    if row is None or row.deleted_at is None or DELETED in change.fields:
        return set()
    deletion = FieldState.objects.select_related("change").filter(
        entity=change.entity, entity_id=change.entity_id, field=DELETED
    )
    state = deletion.first()
    if state is None or conflict.has_seen(change, state.change):
        raise Refused({"": "This record was deleted. Restore it before changing it."})
    return {DELETED}


def _checked(
    entity: Entity, row: SyncedRow | None, fields: Fields, person: Person | None
) -> "ModelSerializer[Any] | None":
    """A serializer that holds the valid new values; None when there are none to hold."""
    values = {field: value for field, value in fields.items() if field != DELETED}
    if row is not None and not values:
        return None
    serializer = entity.serializer(
        row, data=values, partial=row is not None, context={"person": person}
    )
    unknown = set(values) - {name for name, of in serializer.fields.items() if not of.read_only}
    if unknown:
        raise Refused({field: _no_field(field) for field in unknown})
    if not serializer.is_valid():
        raise Refused(_sentences(serializer.errors))
    return serializer


def _sentences(errors: Mapping[str, Any]) -> dict[str, str]:
    return {
        "" if field == "non_field_errors" else field: " ".join(_flat(said))
        for field, said in errors.items()
    }


def _flat(said: Any) -> list[str]:
    """Every sentence in a serializer's errors, however deep a list field nests them."""
    if isinstance(said, Mapping):
        said = said.values()
    elif isinstance(said, str):
        return [str(said)]
    return [sentence for part in said for sentence in _flat(part)]


def _written(
    row: SyncedRow | None,
    serializer: "ModelSerializer[Any] | None",
    entity_id: str,
    columns: dict[str, Any],
) -> SyncedRow:
    if serializer is not None:
        key = {"id": uuid.UUID(entity_id)} if row is None else {}
        saved: SyncedRow = serializer.save(**key, **columns)
        return saved
    assert row is not None, "a new row always has values to check"
    for column, value in columns.items():
        setattr(row, column, value)
    row.save(update_fields=list(columns))
    return row
