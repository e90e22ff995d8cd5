"""Handing a piece of work over: to a person or to another studio, who accept it or send it back."""

from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.triage.acting import instead_of, open_row, piece_of, words_given
from survey.triage.board import Row
from survey.triage.services import may_plan
from survey.triage.work import HandOver, Placement


def colleagues() -> list[Person]:
    """Whom work can be handed to: conservators and the head of department, by name."""
    found = [person for person in Person.objects.filter(is_active=True) if may_plan(person)]
    return sorted(found, key=lambda person: person.name)


def hand_over(
    key: UUID,
    *,
    person: Person,
    reason: str,
    to_person: Person | None = None,
    to_studio: str = "",
) -> HandOver:
    """Offer a piece of work to a person or to another studio. An earlier offer is replaced.

    Whoever takes it on for themselves has accepted it by that.

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field.
    """
    with transaction.atomic():
        _, row = open_row(key, person)
        reason = words_given(reason, "reason", "Say in a few words what is handed over, and why.")
        if (to_person is None) == (to_studio == ""):
            raise ValidationError("Choose a person or a studio, one of the two.")
        _check_receiver(row, to_person, to_studio)
        piece = piece_of(row, person)
        instead_of(HandOver, piece, person)
        handed = HandOver.objects.create(
            piece=piece, to_person=to_person, to_studio=to_studio, by=person, reason=reason
        )
        note(
            person,
            "work handed over",
            row.name,
            {"piece": str(key), "to": handed.receiver, "reason": reason},
        )
        if to_person == person:
            _accept(handed, row, person)
    return handed


def accept(key: UUID, *, person: Person) -> HandOver:
    """Take on what was offered. Work for a studio goes into its queue.

    Raises PermissionDenied unless the person may answer, and ValidationError with a sentence.
    """
    with transaction.atomic():
        _, row = open_row(key, person)
        handed = _offered(row, person)
        if handed.state != HandOver.State.OFFERED:
            raise ValidationError(f"{row.name}, was answered already. Load the page again.")
        _accept(handed, row, person)
    return handed


def send_back(key: UUID, *, person: Person, answer: str) -> HandOver:
    """Say why it is not taken on, or no longer. Raises as :func:`accept` does."""
    with transaction.atomic():
        _, row = open_row(key, person)
        handed = _offered(row, person)
        if handed.state == HandOver.State.SENT_BACK:
            raise ValidationError(f"{row.name}, was sent back already. Load the page again.")
        handed.answer = words_given(
            answer, "answer", "Say in a few words why it goes back, for whoever gave it."
        )
        handed.state = HandOver.State.SENT_BACK
        handed.answered_by, handed.answered_at = person, timezone.now()
        handed.save()
        note(
            person,
            "work sent back",
            row.name,
            {"piece": str(key), "from": handed.receiver, "answer": handed.answer},
        )
    return handed


def end_hand_over(key: UUID, *, person: Person) -> None:
    """The work is nobody's again. Raises PermissionDenied, ValidationError."""
    with transaction.atomic():
        _, row = open_row(key, person)
        handed = row.hand_over
        if handed is None:
            raise ValidationError(f"{row.name}, is not handed over to anybody.")
        if not (person.is_head or person.pk in (handed.by_id, handed.to_person_id)):
            raise PermissionDenied(
                f"{handed.by.name}, who handed it over, or the head of department takes it back."
            )
        instead_of(HandOver, piece_of(row, person), person)
        note(
            person,
            "hand-over ended",
            row.name,
            {"piece": str(key), "was": handed.receiver, "state": handed.state},
        )


def may_answer(handed: HandOver, person: Person) -> bool:
    """The person it was offered to, or the head; for a studio, everybody who plans work."""
    if handed.to_person_id is None:
        return may_plan(person)
    return person.is_head or person.pk == handed.to_person_id


def _accept(handed: HandOver, row: Row, person: Person) -> None:
    handed.state = HandOver.State.ACCEPTED
    handed.answered_by, handed.answered_at = person, timezone.now()
    handed.save()
    if handed.to_studio:
        _into_queue_of(handed, row, person)
    note(person, "work accepted", row.name, {"piece": str(row.key), "by": handed.receiver})


def _into_queue_of(handed: HandOver, row: Row, person: Person) -> None:
    """The studio that accepted it has it in its queue, where the rule puts it."""
    instead_of(Placement, handed.piece, person)
    queue = handed.to_studio, row.queue[1]
    Placement.objects.create(
        piece=handed.piece,
        studio=queue[0],
        kind_of_work=queue[1],
        is_elsewhere=queue != row.own_queue,
        from_studio=row.queue[0],
        from_kind_of_work=row.queue[1],
        by=person,
        reason=handed.reason,
    )


def _offered(row: Row, person: Person) -> HandOver:
    if row.hand_over is None:
        raise ValidationError(f"{row.name}, is not handed over to anybody.")
    handed = HandOver.objects.select_for_update(of=("self",)).get(pk=row.hand_over.pk)
    if not may_answer(handed, person):
        raise PermissionDenied(
            f"{handed.receiver} or the head of department answers for this piece of work."
        )
    return handed


def _check_receiver(row: Row, to_person: Person | None, to_studio: str) -> None:
    if to_person is not None and not (to_person.is_active and may_plan(to_person)):
        raise ValidationError(
            {"to_person": f"{to_person.name} does not take on work here. Choose somebody else."}
        )
    if to_studio and to_studio not in Object.Studio.values:
        raise ValidationError({"to_studio": "There is no such studio. Choose one from the list."})
    if to_studio and to_studio == row.queue[0]:
        raise ValidationError({"to_studio": "It is this studio's already. Choose another one."})
