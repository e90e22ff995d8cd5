"""Moving a piece of work to another place or queue, and taking the move back."""

from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.triage.acting import instead_of, open_row, piece_of, reason_given
from survey.triage.board import Board, QueueKey, Row
from survey.triage.work import Placement
from survey.vocabulary import queries as vocabulary


def move(
    key: UUID,
    *,
    person: Person,
    reason: str,
    place: int | None = None,
    studio: str = "",
    kind_of_work: str = "",
) -> Placement:
    """Put a piece of work at another place of its queue, or into another queue.

    place                 counted from 1; None is where the rule puts it in another queue
    studio, kind_of_work  of the queue; "" is the one it stands in

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field.
    """
    with transaction.atomic():
        board, row = open_row(key, person)
        reason = reason_given(reason)
        _check_can_stand_in_a_queue(board, row)
        queue = _queue_given(row, studio, kind_of_work)
        placed = board.place_of(key)
        assert placed is not None, "neither urgent nor held, so it stands in a queue"
        _check_place(board, row, queue, place, placed.place)
        piece = piece_of(row, person)
        instead_of(Placement, piece, person)
        placement = Placement.objects.create(
            piece=piece,
            studio=queue[0],
            kind_of_work=queue[1],
            is_elsewhere=queue != row.own_queue,
            place=place,
            from_studio=row.queue[0],
            from_kind_of_work=row.queue[1],
            from_place=placed.place,
            rule_place=placed.rule_place,
            by=person,
            reason=reason,
        )
        note(
            person,
            "work moved",
            row.name,
            {
                "piece": str(key),
                "from": [*row.queue, placed.place],
                "to": [*queue, place],
                "reason": reason,
            },
        )
    return placement


def take_back(key: UUID, *, person: Person) -> None:
    """The piece goes back to where the rule puts it. Raises as :func:`move` does."""
    with transaction.atomic():
        _, row = open_row(key, person)
        ended = instead_of(Placement, piece_of(row, person), person)
        if ended is None:
            raise ValidationError(f"{row.name}, was not moved, or the move was taken back already.")
        note(person, "move taken back", row.name, {"piece": str(key)})


def _check_can_stand_in_a_queue(board: Board, row: Row) -> None:
    if row.key in board.urgent_rows:
        raise ValidationError(
            f"{row.object.accession_number} cannot wait and stands in act now, before all queues. "
            "It has a place in a queue again once the hazard is cleared."
        )
    if row in board.held:
        raise ValidationError(
            f"{row.name}, is held, so it has no place now. Take the hold away, then move it."
        )


def _queue_given(row: Row, studio: str, kind_of_work: str) -> QueueKey:
    if studio and studio not in Object.Studio.values:
        raise ValidationError({"studio": "There is no such studio. Choose one from the list."})
    if kind_of_work and kind_of_work not in vocabulary.kind_names():
        raise ValidationError(
            {"kind_of_work": "There is no such kind of work. Choose one from the list."}
        )
    return studio or row.queue[0], kind_of_work or row.queue[1]


def _check_place(
    board: Board, row: Row, queue: QueueKey, place: int | None, standing_at: int
) -> None:
    is_elsewhere = queue != row.queue
    if place is None:
        if not is_elsewhere:
            raise ValidationError({"place": "Say which place, or which other queue."})
        return
    last = len(board.queues.get(queue, ())) + is_elsewhere
    if not 1 <= place <= last:
        raise ValidationError({"place": f"This queue has places 1 to {last}. Give one of these."})
    if place == standing_at and not is_elsewhere:
        raise ValidationError({"place": f"It stands at place {place} already."})
