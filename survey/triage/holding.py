"""Holding a piece of work back until a day, or until other work is done."""

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.triage.acting import instead_of, open_row, piece_of, reason_given
from survey.triage.pieces import desk_work
from survey.triage.rule import in_words
from survey.triage.waiting import check_no_circle, one_at_a_time, waits_of
from survey.triage.work import Hold

LONGEST_DAYS = 3653


def hold(key: UUID, *, person: Person, reason: str, until: date, after: UUID | None = None) -> Hold:
    """Take a piece of work out of its queue for a time. An earlier hold is replaced.

    until  it comes back on this day; with ``after``, the day by which that is expected
    after  key of other open work: it comes back once that is done

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field, also for
    work that would wait for itself by way of others, held or in the week plan.
    """
    with transaction.atomic():
        one_at_a_time()
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
            check_no_circle(row, other, waits_of(board, desk_work()))
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
