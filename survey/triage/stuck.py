"""What is stuck, and on whom: waits for an answer, for other work, or for a signature."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

from django.utils import timezone

from survey.access.models import Person
from survey.examination.models import Examination
from survey.sync.models import OpenQuestion
from survey.treatment.models import TreatmentProposal
from survey.triage.board import Board, Row
from survey.triage.pieces import DeskWork
from survey.triage.rule import counted, in_words
from survey.triage.waiting import circles, in_a_circle, waits_of
from survey.triage.work import HandOver

UNSIGNED_AFTER = timedelta(days=7)


@dataclass(frozen=True)
class Stuck:
    """One thing that does not go on.

    whom   who could move it, in words; "" is nobody in particular
    since  the day from which it has waited
    row, examination, treatment  what to open; all None where it is the open questions
    """

    sentence: str
    whom: str
    since: date
    row: Row | None = None
    examination: Examination | None = None
    treatment: TreatmentProposal | None = None


def stuck(board: Board, desk: DeskWork, now: datetime) -> list[Stuck]:
    """What has waited longest first; five queries."""
    today = timezone.localdate(now)
    found = [
        *_holds(board, desk, today),
        *_hand_overs(board),
        *_treatments(),
        *_unsigned(now),
        *_questions(),
    ]
    return sorted(found, key=lambda one: (one.since, one.sentence))


def _holds(board: Board, desk: DeskWork, today: date) -> Iterable[Stuck]:
    waits = waits_of(board, desk)
    for circle in circles(board, waits):
        said = [
            next(wait for wait in waits[row.key] if wait.other.key == other.key)
            for row, other in pairwise(circle)
        ]
        sentence = f"These wait for each other in a circle: {in_a_circle(circle)}"
        since = min(wait.at for wait in said)
        yield Stuck(sentence, said[0].by.name, timezone.localdate(since), circle[0])
    for row in board.held:
        if row.hold is None or not row.hold.is_past(today):
            continue
        others = board.waits_for(row.hold, desk)
        names = " and ".join(other.name for other in others)
        yield Stuck(
            f"{row.name}, waits for {names}, which was expected by {in_words(row.hold.until)}",
            ", ".join(dict.fromkeys(_who_has(other) for other in others)),
            row.hold.until,
            row,
        )


def _hand_overs(board: Board) -> Iterable[Stuck]:
    for row in board.by_key.values():
        handed = row.hand_over
        if handed is None or handed.is_accepted:
            continue
        if handed.state == HandOver.State.OFFERED:
            sentence = f"{row.name}, offered by {handed.by.name}, waits to be accepted"
            yield Stuck(sentence, handed.receiver, timezone.localdate(handed.at), row)
        else:
            answered: Any = handed.answered_at
            sentence = f"{row.name}, sent back by {_name(handed.answered_by)}: {handed.answer}"
            yield Stuck(sentence, handed.by.name, timezone.localdate(answered), row)


def _unsigned(now: datetime) -> Iterable[Stuck]:
    for examination in Examination.objects.filter(
        deleted_at=None,
        object__deleted_at=None,
        signed_at=None,
        started_at__lt=now - UNSIGNED_AFTER,
    ).select_related("object", "examiner"):
        sentence = f"Examination of {examination.object.accession_number} is not yet signed"
        since = timezone.localdate(examination.started_at)
        yield Stuck(sentence, examination.examiner.name, since, examination=examination)


def _treatments() -> Iterable[Stuck]:
    """Proposals that wait for the head's word, or for their proposer after it."""
    heads = " or ".join(
        sorted(
            person.name for person in Person.objects.filter(role=Person.Role.HEAD, is_active=True)
        )
    )
    states = TreatmentProposal.State
    for proposal in TreatmentProposal.objects.filter(
        state__in=[states.FORWARD, states.SENT_BACK], object__deleted_at=None
    ).select_related("object", "proposed_by"):
        since = timezone.localdate(proposal.put_forward_at or proposal.made_at)
        number = proposal.object.accession_number
        if proposal.state == states.FORWARD:
            sentence = f"The treatment proposed for {number} waits to be approved"
            yield Stuck(sentence, heads, since, treatment=proposal)
        else:
            sentence = f"The treatment proposed for {number} was sent back"
            yield Stuck(sentence, proposal.proposed_by.name, since, treatment=proposal)


def _questions() -> Iterable[Stuck]:
    """Two people said different things; the two of them know best, by pairs."""
    pairs: dict[str, list[date]] = {}
    for question in OpenQuestion.objects.filter(settled_at=None).select_related(
        "shown__person", "kept__person"
    ):
        names = sorted({_name(question.shown.person), _name(question.kept.person)})
        pairs.setdefault(" and ".join(names), []).append(timezone.localdate(question.asked_at))
    for whom, days in pairs.items():
        yield Stuck(f"{counted(len(days), 'open question')} on records", whom, min(days))


def _who_has(row: Row) -> str:
    handed = row.hand_over
    if handed is None or handed.state == HandOver.State.SENT_BACK:
        return "nobody yet"
    return handed.receiver


def _name(person: Person | None) -> str:
    return person.name if person else "the desk"
