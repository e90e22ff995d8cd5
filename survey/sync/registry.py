"""What apps say of their rows so that sync can carry them without knowing them.

Each app that owns synced rows has a ``synced.py`` which calls :func:`register`;
``SyncConfig.ready`` imports them all.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db.models import QuerySet
from rest_framework.serializers import ModelSerializer

from survey.sync.models import SyncedRow

Fields = Mapping[str, Any]


def everything(rows: "QuerySet[Any]", scope: dict[str, Any]) -> "QuerySet[Any]":
    """The scope of rows that every device carries."""
    return rows


def nothing_forbids(row: Any, fields: Fields, person: Any) -> dict[str, str]:
    return {}


def nothing_follows(row: Any, fields: Fields, author: Any) -> None:
    return None


@dataclass(frozen=True)
class Entity:
    """One kind of synced row.

    name        the word on the wire, as the design's trade words have it
    serializer  a ModelSerializer: validates what comes in, writes what goes out.
                Its field names are the wire's field names; foreign keys go by primary key.
                Its context has "person": whoever made the change, or None for the server
    writable    fields a tablet may set; the empty set means the row is read-only to tablets
    in_scope    narrows a queryset of rows to what a device carries (its scope dictionary)
    forbid      (row or None when new, fields, person) -> sentence by field, {} if allowed:
                for example every field of a signed examination; "" names the change as a
                whole, and a deletion arrives as the field "deleted"
    follow      (row, fields, author) called in the same transaction after a change was applied;
                the author is the person, and what it writes goes through record_change
    filled      fields that the server fills in by itself when a new row does not say them
    """

    name: str
    serializer: type[ModelSerializer[Any]]
    writable: frozenset[str] = frozenset()
    in_scope: "Callable[[QuerySet[Any], dict[str, Any]], QuerySet[Any]]" = everything
    forbid: Callable[[Any, Fields, Any], dict[str, str]] = nothing_forbids
    follow: Callable[[Any, Fields, Any], None] = nothing_follows
    filled: frozenset[str] = frozenset()

    @property
    def model(self) -> type[SyncedRow]:
        model: type[SyncedRow] = self.serializer.Meta.model
        return model


_entities: dict[str, Entity] = {}


def register(entity: Entity) -> None:
    """Add an entity. Raises ValueError if the name is taken."""
    if entity.name in _entities:
        raise ValueError(f"Two entities are called {entity.name}.")
    _entities[entity.name] = entity


def named(name: str) -> Entity | None:
    return _entities.get(name)


def entities() -> list[Entity]:
    return list(_entities.values())


Narrowing = Callable[[Entity, "QuerySet[Any]", dict[str, Any]], "QuerySet[Any]"]
_narrowings: dict[str, tuple[Narrowing, Narrowing]] = {}


def register_narrowing(key: str, narrow: Narrowing, narrow_own: Narrowing) -> None:
    """Say what a device carries whose scope has this key, such as one loan, and nothing else.

    narrow      (entity, rows, scope) -> the rows of that kind within; it answers for every entity
    narrow_own  the same of those that the device may write: before the change, and after it
    """
    _narrowings[key] = narrow, narrow_own


def is_narrowed(scope: dict[str, Any]) -> bool:
    return any(key in scope for key in _narrowings)


def carried(entity: Entity, rows: "QuerySet[Any]", scope: dict[str, Any]) -> "QuerySet[Any]":
    """Those of an entity's rows that a device with this scope carries."""
    for key, (narrow, _) in _narrowings.items():
        if key in scope:
            return narrow(entity, rows, scope)
    return entity.in_scope(rows, scope)


def own(entity: Entity, rows: "QuerySet[Any]", scope: dict[str, Any]) -> "QuerySet[Any]":
    """Those of an entity's rows that a device with a narrow scope may write."""
    for key, (_, narrow_own) in _narrowings.items():
        if key in scope:
            return narrow_own(entity, rows, scope)
    return rows


Forbid = Callable[[Any, Fields, Any], dict[str, str]]
_guards: dict[str, list[Forbid]] = {}


def register_guard(name: str, forbid: Forbid) -> None:
    """Add what a room above forbids of an entity that is not its own; see Entity.forbid."""
    _guards.setdefault(name, []).append(forbid)


def forbidden(entity: Entity, row: Any, fields: Fields, person: Any) -> dict[str, str]:
    """A sentence by field that may not be set, by the word of its own room and those above."""
    for forbid in (entity.forbid, *_guards.get(entity.name, [])):
        if sentences := forbid(row, fields, person):
            return sentences
    return {}


Follow = Callable[[Any, Fields, Any], None]
_followers: dict[str, list[Follow]] = {}


def register_follower(name: str, follow: Follow) -> None:
    """Add what follows in a room above from a change to an entity that is not its own; see
    Entity.follow."""
    _followers.setdefault(name, []).append(follow)


def follow(entity: Entity, row: Any, fields: Fields, author: Any) -> None:
    """Do what follows from a change, in its own room and in those above."""
    for each in (entity.follow, *_followers.get(entity.name, [])):
        each(row, fields, author)


Receiver = Callable[[Path], dict[str, Any]]
_receivers: list[Receiver] = []


def register_receiver(inspect: Receiver) -> None:
    """Say what looks at a file that arrived, before it is stored.

    inspect  takes the file's path and returns facts to keep in StoredFile.facts, as JSON.
             Raises ValueError with a sentence when the file cannot be taken at all.
    """
    _receivers.append(inspect)


def facts_of(path: Path) -> dict[str, Any]:
    """What the registered receivers say of a file. Raises ValueError with a sentence."""
    return {name: fact for inspect in _receivers for name, fact in inspect(path).items()}


Namer = Callable[[str], list[str]]
_namers: list[Namer] = []


def register_namer(name_uses: Namer) -> None:
    """Say what puts a content in words: from its SHA-256 to one phrase for each use of it."""
    _namers.append(name_uses)


def uses_of(sha256: str) -> list[str]:
    return [use for name_uses in _namers for use in name_uses(sha256)]


Check = Callable[[], Iterable[str]]
_checks: list[Check] = []


def register_check(check: Check) -> None:
    """Add what only the app knows to the verification of the server; see care/verify.py.

    check  returns a sentence for each fault that it finds; it only reads
    """
    _checks.append(check)


def checks() -> list[Check]:
    return list(_checks)
