"""What tablets carry of the catalogue: the whole tree of places, and the objects in scope."""

from typing import Any

from django.db.models import Q, QuerySet

from survey.catalogue import services
from survey.catalogue.models import Move, Object
from survey.catalogue.queries import places_within
from survey.catalogue.serializers import LocationSerializer, MoveSerializer, ObjectSerializer
from survey.catalogue.wire import writable
from survey.sync.registry import Entity, Fields, register


def objects_in_scope(rows: "QuerySet[Object]", scope: dict[str, Any]) -> "QuerySet[Object]":
    return rows.filter(carried(scope, "location"))


def moves_in_scope(rows: "QuerySet[Move]", scope: dict[str, Any]) -> "QuerySet[Move]":
    return rows.filter(carried(scope, "object__location"))


def carried(scope: dict[str, Any], path: str) -> Q:
    """Rows whose object stands in the scope's locations; ``path`` leads to its location.

    Objects outside the tree are always carried: no branch that a person picks holds them.
    """
    chosen = scope.get("locations")
    if not chosen:
        return Q()
    return Q(**{f"{path}__in": places_within(chosen)}) | Q(**{f"{path}__isnull": True})


def forbid_rewriting(row: Move | None, fields: Fields, person: Any) -> dict[str, str]:
    if row is None:
        return {}
    return {"": "A move is history and stays as it is: record another move to correct it."}


def move_the_object(row: Move, fields: Fields, author: Any) -> None:
    services.follow_move(row, author)


register(Entity("location", LocationSerializer))
register(Entity("object", ObjectSerializer, in_scope=objects_in_scope))
register(
    Entity(
        "move",
        MoveSerializer,
        writable(MoveSerializer),
        in_scope=moves_in_scope,
        forbid=forbid_rewriting,
        follow=move_the_object,
        filled=frozenset({"from_location", "from_place"}),
    )
)
