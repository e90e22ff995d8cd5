"""What changes the catalogue."""

from typing import Any

from survey.catalogue.models import Location, Move, Object


def move_object(
    item: Object, *, to_location: Location | None, to_place: str = "", note: str = "", person: Any
) -> Move:
    """Record that an object went to a location of the tree, or to a place outside it, in words.

    Raises ValidationError when neither is given, or both are.
    """
    from survey.sync.services import record_change

    move = Move(object=item, person=person)
    record_change(
        "move",
        move,
        {
            "object": str(item.pk),
            "to_location": str(to_location.pk) if to_location else None,
            "to_place": to_place,
            "note": note,
        },
        person,
    )
    return move


def follow_move(move: Move, person: Any) -> None:
    """Let the object stand where its latest move took it.

    Moves arrive in the order that tablets come back, not in the order they were made: an
    older one that comes late is kept as history and moves nothing.
    """
    from survey.sync.services import record_change

    item = move.object
    if item.moves.latest("at", "id") != move:
        return
    place = {
        "location": str(move.to_location_id) if move.to_location_id else None,
        "off_site_place": move.to_place,
    }
    record_change("object", item, place, person)
