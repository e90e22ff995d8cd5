"""What changes the catalogue."""

from survey.access.models import Person
from survey.catalogue.models import Location, Move, Object
from survey.sync.services import record_change


def move_object(
    item: Object,
    person: Person | None,
    *,
    to_location: Location | None = None,
    to_place: str = "",
    note: str = "",
) -> Move:
    """Record that an object went to a location of the tree, or to a place outside it, in words.

    Raises Refused when neither is given, or both are.
    """
    fields = {
        "object": item,
        "to_location": to_location,
        "to_place": to_place,
        "person": person,
        "note": note,
    }
    move: Move = record_change("move", None, fields, person)
    item.refresh_from_db()
    return move


def follow_move(move: Move, person: Person | None) -> None:
    """Let the object stand where its latest move took it.

    Moves arrive in the order that tablets come back, not in the order they were made: an
    older one that comes late is kept as history and moves nothing. Where the object stands is
    then said once more, for the tablet that already shows it where the late move took it.
    """
    item = move.object
    if item.moves.latest("at", "id") == move:
        place = {"location": move.to_location, "off_site_place": move.to_place}
    else:
        place = {"location": item.location, "off_site_place": item.off_site_place}
    record_change("object", item, place, person)
