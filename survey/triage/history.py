"""What was done with a piece of work, in sentences, from the first act to the last."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.triage.board import QueueKey, Row
from survey.triage.rule import in_words
from survey.triage.work import HandOver, Hold, Piece, Placement
from survey.vocabulary import queries as vocabulary


@dataclass(frozen=True)
class Event:
    at: datetime
    person: Person | None
    sentence: str


def queue_name(queue: QueueKey) -> str:
    """``Paper studio: treat``."""
    studios = dict(Object.Studio.choices)
    kind = vocabulary.kind_names().get(queue[1], queue[1])
    return f"{studios[queue[0]]} studio: {kind.lower()}"


def moved_in_words(placement: Placement) -> str:
    """``Moved from place 7 to 2``, ``Moved from paper studio: treat to objects studio: treat``."""
    at = f"place {placement.place}" if placement.place is not None else ""
    if placement.from_queue != placement.queue:
        to = queue_name(placement.queue) + (f", {at}" if at else "")
        return f"Moved from {queue_name(placement.from_queue)} to {to}"
    return f"Moved from place {placement.from_place} to {placement.place}"


def held_in_words(hold: Hold, awaited: list[Row]) -> str:
    """``Held until 3 May 2026``, ``Held until PE.1987.3, treat, is done, expected by …``."""
    if hold.after_id is None:
        return f"Held until {in_words(hold.until)}"
    names = " and ".join(row.name for row in awaited) or "other work"
    return f"Held until {names}, is done; expected by {in_words(hold.until)}"


def history_of(row: Row) -> list[Event]:
    """Everything that was done with this piece and the recommendations it is made of, in the
    order it happened; five queries."""
    works = [work.pk for _, work in row.members]
    pieces = {
        piece.pk: piece
        for piece in Piece.objects.filter(Q(pk=row.key) | Q(recommendations__in=works))
        .select_related("made_by", "ended_by")
        .distinct()
    }
    of_these = {"piece__in": list(pieces)}
    events = [event for piece in pieces.values() for event in _of_piece(piece)]
    for placement in Placement.objects.filter(**of_these).select_related("by", "ended_by"):
        which = _which(pieces[placement.piece_id], row.key)
        events.append(
            Event(
                placement.at,
                placement.by,
                f"{which}{moved_in_words(placement)}, where the rule had it at place "
                f"{placement.rule_place}: {placement.reason}"
                if placement.rule_place is not None
                else f"{which}{moved_in_words(placement)}: {placement.reason}",
            )
        )
        if placement.ended_at:
            events.append(Event(placement.ended_at, placement.ended_by, f"{which}Move ended"))
    for hold in Hold.objects.filter(**of_these).select_related("by", "ended_by"):
        which = _which(pieces[hold.piece_id], row.key)
        other = ", or until other work was done" if hold.after_id else ""
        events.append(
            Event(
                hold.at, hold.by, f"{which}Held until {in_words(hold.until)}{other}: {hold.reason}"
            )
        )
        if hold.ended_at:
            events.append(Event(hold.ended_at, hold.ended_by, f"{which}Hold ended"))
    for handed in HandOver.objects.filter(**of_these).select_related(
        "by", "ended_by", "to_person", "answered_by"
    ):
        which = _which(pieces[handed.piece_id], row.key)
        events.append(
            Event(handed.at, handed.by, f"{which}Handed over to {handed.receiver}: {handed.reason}")
        )
        if handed.answered_at and handed.is_accepted:
            events.append(Event(handed.answered_at, handed.answered_by, f"{which}Accepted"))
        elif handed.answered_at:
            events.append(
                Event(handed.answered_at, handed.answered_by, f"{which}Sent back: {handed.answer}")
            )
        if handed.ended_at:
            events.append(Event(handed.ended_at, handed.ended_by, f"{which}Hand-over ended"))
    return sorted(events, key=lambda event: event.at)


def _of_piece(piece: Piece) -> Iterator[Event]:
    hours = f", {piece.hours:g} h" if piece.hours is not None else ""
    if piece.form == Piece.Form.PART:
        yield Event(piece.made_at, piece.made_by, f"Part {piece.order} made: {piece.words}{hours}")
        if piece.done_at:
            yield Event(piece.done_at, None, f"Part {piece.order} marked done")
        if piece.ended_at:
            yield Event(piece.ended_at, piece.ended_by, f"Part {piece.order} ended")
    elif piece.form == Piece.Form.BUNDLE:
        yield Event(piece.made_at, piece.made_by, f"Put into one piece: {piece.words}{hours}")
        if piece.ended_at:
            yield Event(piece.ended_at, piece.ended_by, "Taken apart")


def _which(piece: Piece, key: UUID) -> str:
    """Which piece an event was about, where it is not the one that is looked at."""
    if piece.pk == key:
        return ""
    if piece.form == Piece.Form.PART:
        return f"Part {piece.order}. "
    return "All as one. " if piece.form == Piece.Form.BUNDLE else "The whole. "
