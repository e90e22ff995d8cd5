"""Holding a piece of work back until a day, or until other work is done."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.triage.acting import instead_of, open_row, piece_of, reason_given
from survey.triage.board import Board, Row, awaited
from survey.triage.pieces import DeskWork, desk_work
from survey.triage.rule import in_words
from survey.triage.work import Hold

LONGEST_DAYS = 3653


def hold(key: UUID, *, person: Person, reason: str, until: date, after: UUID | None = None) -> Hold:
    """Take a piece of work out of its queue for a time. An earlier hold is replaced.

    until  it comes back on this day; with ``after``, the day by which that is expected
    after  key of other open work: it comes back once that is done

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field, also for
    work that would wait for itself by way of others.
    """
    with transaction.atomic():
        # One at a time, or two holds could close a circle that neither sees.
        list(Hold.objects.select_for_update().filter(ended_at=None))
        board, row = open_row(key, person)
        reason = reason_given(reason)
        _check_until(until, timezone.localdate())
        if key in board.urgent_rows:
            raise ValidationError(
                f"{row.object.accession_number} cannot wait: a hazard stands before every hold. "
                "It can be held once the hazard is cleared."
            )
        other = None
        if after is not None:
            other = board.by_key.get(after)
            if other is None:
                raise ValidationError(
                    {"after": "The other piece of work is not open. Choose one that is."}
                )
            _check_no_circle(board, row, other)
        piece = piece_of(row, person)
        instead_of(Hold, piece, person)
        held = Hold.objects.create(
            piece=piece,
            until=until,
            after=piece_of(other, person) if other else None,
            by=person,
            reason=reason,
        )
        note(
            person,
            "work held",
            row.name,
            {
                "piece": str(key),
                "until": until.isoformat(),
                "after": str(after) if after else None,
                "reason": reason,
            },
        )
    return held


def release(key: UUID, *, person: Person) -> None:
    """The piece stands in its queue again. Raises as :func:`hold` does."""
    with transaction.atomic():
        _, row = open_row(key, person)
        if instead_of(Hold, piece_of(row, person), person) is None:
            raise ValidationError(f"{row.name}, is not held, or the hold was taken away already.")
        note(person, "hold taken away", row.name, {"piece": str(key)})


def chain(start: Row, goal: Row, rows: dict[UUID, Row], desk: DeskWork) -> list[Row] | None:
    """The work by way of which ``start`` waits for ``goal``, both at its ends; None if it does not.

    The shortest one: each next piece is what the one before is held for.
    """
    came_from: dict[UUID, UUID | None] = {start.key: None}
    waiting = [start]
    for row in waiting:
        if row.key == goal.key:
            found = [row]
            while (before := came_from[found[-1].key]) is not None:
                found.append(rows[before])
            return found[::-1]
        for other in awaited(row.hold, rows, desk) if row.hold else ():
            if other.key not in came_from:
                came_from[other.key] = row.key
                waiting.append(other)
    return None


def circles(board: Board, desk: DeskWork) -> list[list[Row]]:
    """Work that waits for itself by way of others, each circle once: none can be made here, but
    work that was put together after may close one."""
    found: dict[frozenset[UUID], list[Row]] = {}
    for row in board.held:
        for other in awaited(row.hold, board.by_key, desk) if row.hold else ():
            back = chain(other, row, board.by_key, desk)
            if back is not None:
                found.setdefault(frozenset(one.key for one in back), [row, *back])
    return list(found.values())


def in_a_circle(rows: Iterable[Row]) -> str:
    """``PE.1, treat, waits for PE.2, rehouse, waits for PE.1, treat``."""
    return ", waits for ".join(row.name for row in rows)


def _check_until(until: date, today: date) -> None:
    if until <= today:
        raise ValidationError(
            {
                "until": f"{in_words(until)} is not after today, so nothing would be held. "
                "Give the day on which it should come back."
            }
        )
    if (until - today).days > LONGEST_DAYS:
        raise ValidationError(
            {
                "until": f"{in_words(until)} is more than ten years away. Give a nearer day; it "
                "can be held again then."
            }
        )


def _check_no_circle(board: Board, row: Row, other: Row) -> None:
    if other.key == row.key:
        raise ValidationError({"after": f"{row.name}, cannot wait for itself."})
    back = chain(other, row, board.by_key, desk_work())
    if back is not None:
        raise ValidationError(
            {
                "after": f"These would wait for each other in a circle: "
                f"{in_a_circle([row, *back])}. Let one of them wait no longer, or choose other "
                "work."
            }
        )
