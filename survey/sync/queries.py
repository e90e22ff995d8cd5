"""What a tablet asks: the rows that changed since its cursor, and what has arrived of its own."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.access.models import Device
from survey.sync import conflict, log, registry
from survey.sync.models import Change, OpenQuestion
from survey.sync.registry import Entity

MOST_ROWS = 500
NOTHING_SAID = {"value": None, "at": "", "person": ""}


@dataclass(frozen=True)
class Page:
    """Rows in the order of their last change, and the cursor after them.

    rows       {"entity", "id", "revision", "deleted", "fields"}; "deleted" with no fields also
               tells a device of a row that it no longer carries
    questions  those of the rows: settled ones, and open ones of what the device carries
    """

    rows: list[dict[str, Any]]
    questions: list[dict[str, Any]]
    cursor: int
    more: bool
    scope: dict[str, Any]


def received_of(changes: Iterable[UUID]) -> list[UUID]:
    """Those of the changes that are in the change log: applied, in question, or refused."""
    return list(Change.objects.filter(pk__in=list(changes)).values_list("pk", flat=True))


def scope_of(device: Device | None) -> dict[str, Any]:
    return device.scope if device else {"locations": []}


def page_after(cursor: int, limit: int, scope: dict[str, Any]) -> Page:
    """The next rows for a device that has everything up to ``cursor``.

    A row comes once, with its present state, at the place of its last change. None is ever
    skipped: numbers are committed in order, and a row that changes while the page is read
    moves to a number above ``newest`` and comes again.
    """
    history = log.history()
    newest = history.newest
    if not history.has(cursor):
        cursor = 0  # The server was set back to a copy: what the device has may be too new.
    places: list[tuple[int, Entity, Any]] = []
    for entity in registry.entities():
        rows = entity.model._default_manager.filter(revision__gt=cursor, revision__lte=newest)
        if cursor == 0:  # A device that has nothing yet has nothing to forget.
            rows = registry.carried(entity, rows.filter(deleted_at=None), scope)
        first = rows.order_by("revision").values_list("revision", "pk")[: limit + 1]
        places += [(revision, entity, key) for revision, key in first]
    places.sort(key=lambda place: place[0])
    more = len(places) > limit
    places = places[:limit]
    carried = _carried(places, scope)
    return Page(
        rows=[
            carried.get((entity.name, key)) or _tombstone(entity, key, revision)
            for revision, entity, key in places
        ],
        questions=_questions_of(places, scope),
        cursor=places[-1][0] if more else newest,
        more=more,
        scope=scope,
    )


def _carried(
    places: list[tuple[int, Entity, Any]], scope: dict[str, Any]
) -> dict[tuple[str, Any], dict[str, Any]]:
    """The living rows of a page that are in scope, as they go over the wire."""
    rows: dict[tuple[str, Any], dict[str, Any]] = {}
    for entity in _entities_of(places):
        keys = [key for _, of, key in places if of is entity]
        living = entity.model._default_manager.filter(pk__in=keys, deleted_at=None)
        found = registry.carried(entity, living, scope).select_related(*looked_into(entity))
        for row, fields in zip(found, entity.serializer(found, many=True).data, strict=True):
            rows[entity.name, row.pk] = {
                "entity": entity.name,
                "id": str(row.pk),
                "revision": row.revision,
                "deleted": False,
                "fields": {name: fields[name] for name in fields if name != "id"},
            }
    return rows


def _entities_of(places: list[tuple[int, Entity, Any]]) -> list[Entity]:
    """The kinds of record among the places, each once."""
    return list({entity.name: entity for _, entity, _ in places}.values())


def looked_into(entity: Entity) -> set[str]:
    """The relations that fields such as a person's name reach through."""
    sources = [field.source or "" for field in entity.serializer().fields.values()]
    return {source.split(".")[0] for source in sources if "." in source}


def _tombstone(entity: Entity, key: Any, revision: int) -> dict[str, Any]:
    return {
        "entity": entity.name,
        "id": str(key),
        "revision": revision,
        "deleted": True,
        "fields": None,
    }


def _questions_of(
    places: list[tuple[int, Entity, Any]], scope: dict[str, Any]
) -> list[dict[str, Any]]:
    keys = [str(key) for _, _, key in places]
    questions = list(
        OpenQuestion.objects.filter(entity_id__in=keys)
        .select_related("shown__person", "kept__person")
        .order_by("id")
    )
    # Whether a deleted record is to stay deleted can be a question too.
    within = {
        (entity.name, str(key))
        for entity in _entities_of(places)
        if (asked := {one.entity_id for one in questions if one.entity == entity.name})
        for key in registry.carried(
            entity, entity.model._default_manager.filter(pk__in=asked), scope
        ).values_list("pk", flat=True)
    }
    told = []
    for one in questions:
        if (one.entity, one.entity_id) in within:
            told.append(question_as_wire(one))
        elif not one.is_open:  # That it is settled, but not what about.
            told.append(question_as_wire(one) | {"shown": NOTHING_SAID, "kept": NOTHING_SAID})
    return told


def question_as_wire(question: OpenQuestion) -> dict[str, Any]:
    return {
        "id": str(question.pk),
        "entity": question.entity,
        "entity_id": question.entity_id,
        "field": question.field,
        "shown": _side(question.shown, question.field),
        "kept": _side(question.kept, question.field),
        "settled": not question.is_open,
    }


def _side(change: Change, field: str) -> dict[str, Any]:
    return {
        "value": conflict.value_of(change, field),
        "at": change.at,
        "person": change.person.name if change.person else "",
    }
