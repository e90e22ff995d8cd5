"""Splitting one recommendation into parts, and doing several as one piece."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.triage.acting import (
    GONE,
    check_was_recommended,
    instead_of,
    open_row,
    piece_of,
    words_given,
)
from survey.triage.board import Board, Row
from survey.triage.work import HandOver, Hold, Piece, Placement
from survey.vocabulary import queries as vocabulary

MOST_HOURS = 2000
MOST_PARTS = 12
LONGEST_WORDS = 1000


@dataclass(frozen=True)
class Share:
    """What one part is to be: its words, its hours (None is no estimate), its kind of work
    ("" is that of the whole)."""

    words: str
    hours: float | None = None
    kind_of_work: str = ""


def split(key: UUID, *, person: Person, shares: Sequence[Share]) -> list[Piece]:
    """Make two or more pieces of one. A part can be split further.

    Raises PermissionDenied for couriers, and ValidationError with a sentence.
    """
    with transaction.atomic():
        board, row = open_row(key, person)
        check_was_recommended(row, "it cannot be split")
        if row.is_bundle:
            raise ValidationError(
                f"{row.name}, is several recommendations done as one. Take it apart, then split "
                "the one you mean."
            )
        _check_is_free(board, row, "split it")
        if not 2 <= len(shares) <= MOST_PARTS:
            raise ValidationError(
                f"Split it into 2 to {MOST_PARTS} parts: fill in at least two lines."
            )
        told = [_checked(share, number) for number, share in enumerate(shares, start=1)]
        whole = piece_of(row, person)
        _free(whole, person)
        siblings = list(
            Piece.objects.filter(
                recommendations=row.recommendation, form=Piece.Form.PART, ended_at=None
            )
        )
        if row.is_part:
            _end([whole], person)
        last = max((one.order for one in siblings), default=0)
        parts = []
        for number, share in enumerate(told, start=1):
            part = Piece.objects.create(
                form=Piece.Form.PART,
                kind_of_work=share.kind_of_work or whole.kind_of_work,
                hours=share.hours,
                words=share.words,
                order=last + number,
                made_by=person,
            )
            part.recommendations.add(row.recommendation)
            parts.append(part)
        note(
            person,
            "work split",
            row.name,
            {
                "piece": str(key),
                "parts": [
                    {"piece": str(part.pk), "words": part.words, "hours": part.hours}
                    for part in parts
                ],
            },
        )
    return parts


def put_together(key: UUID, *, person: Person) -> None:
    """The recommendation that this part is of stands as one piece again.

    What was done of it already stands in the history. Raises as :func:`split` does.
    """
    with transaction.atomic():
        board, row = open_row(key, person)
        if not row.is_part:
            raise ValidationError(f"{row.name}, is not a part of anything.")
        work = row.recommendation.pk
        for other in board.by_key.values():
            if other.is_part and other.recommendation.pk == work:
                _check_is_free(board, other, "put the parts together")
        parts = Piece.objects.select_for_update().filter(
            recommendations=work, form=Piece.Form.PART, ended_at=None
        )
        ended = list(parts)
        for part in ended:
            _free(part, person)
        _end(ended, person)
        note(person, "parts put together", row.name, {"parts": [str(part.pk) for part in ended]})


def merge(
    keys: Iterable[UUID],
    *,
    person: Person,
    words: str = "",
    hours: float | None = None,
    kind_of_work: str = "",
) -> Piece:
    """Do several recommendations as one piece: of one object, or the same work on objects that
    lie in one place, such as a box.

    words         what is done; "" joins what the recommendations say
    hours         for all of it; None adds up what they say
    kind_of_work  "" is that of the first

    Raises PermissionDenied for couriers, and ValidationError with a sentence.
    """
    with transaction.atomic():
        wanted = list(dict.fromkeys(keys))
        if len(wanted) < 2:
            raise ValidationError("Choose at least two pieces of work to do as one.")
        board, first = open_row(wanted[0], person)
        rows = [_open(board, key) for key in wanted]
        for row in rows:
            check_was_recommended(row, "it is done by itself")
            if row.is_part:
                raise ValidationError(
                    f"{row.name}, is a part. Put its parts together, then do the whole as one "
                    "with other work."
                )
            _check_is_free(board, row, "do it as one with other work")
        _check_belong_together(rows)
        share = _checked(
            Share(
                words or " ".join(row.words for row in rows if row.words) or "As recommended.",
                _added([row.hours for row in rows]) if hours is None else hours,
                kind_of_work or first.queue[1],
            )
        )
        old = []
        for row in rows:
            piece = piece_of(row, person)
            _free(piece, person)
            if row.is_bundle:
                old.append(piece)
        _end(old, person)
        bundle = Piece.objects.create(
            form=Piece.Form.BUNDLE,
            kind_of_work=share.kind_of_work,
            hours=share.hours,
            words=share.words,
            made_by=person,
        )
        bundle.recommendations.set([work for row in rows for _, work in row.members])
        note(
            person,
            "work put into one",
            first.name,
            {"piece": str(bundle.pk), "of": [str(key) for key in wanted], "hours": share.hours},
        )
    return bundle


def take_apart(key: UUID, *, person: Person) -> None:
    """The recommendations of a bundle stand by themselves again. Raises as :func:`merge` does."""
    with transaction.atomic():
        board, row = open_row(key, person)
        if not row.is_bundle:
            raise ValidationError(f"{row.name}, is one recommendation; there is nothing to part.")
        _check_is_free(board, row, "take it apart")
        piece = piece_of(row, person)
        _free(piece, person)
        _end([piece], person)
        note(person, "work taken apart", row.name, {"piece": str(key)})


def can_be_one_with(row: Row, board: Board) -> list[Row]:
    """Open work that could be done as one with this."""
    if row.is_part or row.again:
        return []
    found = [
        other
        for other in board.by_key.values()
        if other.key != row.key
        and not (other.is_part or other.again)
        and _belong_together([row, other])
    ]
    return sorted(found, key=lambda other: (other.object.accession_number, other.place_key))


def _open(board: Board, key: UUID) -> Row:
    row = board.by_key.get(key)
    if row is None:
        raise ValidationError(GONE)
    return row


def _check_is_free(board: Board, row: Row, what: str) -> None:
    """What was said of the old piece would be said of nothing any more."""
    if row in board.held:
        raise ValidationError(f"{row.name}, is held. Take the hold away, then {what}.")
    handed = row.hand_over
    if handed is not None and handed.state != HandOver.State.SENT_BACK:
        raise ValidationError(
            f"{row.name}, is handed over to {handed.receiver}. Take that back, then {what}."
        )


def _free(piece: Piece, person: Person) -> None:
    """End what people did with a piece that is no longer one."""
    for act in (Placement, Hold, HandOver):
        instead_of(act, piece, person)


def _checked(share: Share, number: int | None = None) -> Share:
    where = f"Part {number}: " if number else ""
    words = words_given(
        share.words, "words", f"{where}say in a few words what is to be done.", LONGEST_WORDS
    )
    hours = share.hours
    if hours is not None and not (math.isfinite(hours) and 0 < hours <= MOST_HOURS):
        raise ValidationError(
            {
                "hours": f"{where}hours are a number above 0 and at most {MOST_HOURS}. "
                "Leave them empty where there is no estimate yet."
            }
        )
    if share.kind_of_work and share.kind_of_work not in vocabulary.kind_names():
        raise ValidationError(
            {"kind_of_work": "There is no such kind of work. Choose one from the list."}
        )
    return Share(words, hours, share.kind_of_work)


def _check_belong_together(rows: Sequence[Row]) -> None:
    if not _belong_together(rows):
        raise ValidationError(
            "These cannot be done as one. Choose work on one object, or the same kind of work in "
            "one studio on objects that lie in the same place."
        )


def _belong_together(rows: Sequence[Row]) -> bool:
    objects = {standing.object.pk: standing.object for row in rows for standing, _ in row.members}
    if len(objects) == 1:
        return True
    places = {(item.location_id, item.off_site_place) for item in objects.values()}
    return len({row.queue for row in rows}) == 1 and len(places) == 1 and (None, "") not in places


def _added(hours: Sequence[float | None]) -> float | None:
    """Their sum; None when one of them has no estimate, since it would say too little."""
    known = [one for one in hours if one is not None]
    return sum(known) if len(known) == len(hours) else None


def _end(pieces: Iterable[Piece], person: Person) -> None:
    for piece in pieces:
        piece.ended_at, piece.ended_by = timezone.now(), person
        piece.save(update_fields=["ended_at", "ended_by"])
