"""What all acts on a piece of work share: the piece as it stands now, and one act at a time."""

from typing import TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils import timezone

from survey.access.models import Person
from survey.triage import queries
from survey.triage.board import Board, Row
from survey.triage.services import check_may_plan
from survey.triage.work import Act, Piece

AnyAct = TypeVar("AnyAct", bound=Act)

GONE = (
    "This piece of work is no longer open: it was done, split, done as one with other work, or a "
    "later examination took its place. Load the page again."
)


def open_row(key: UUID, person: Person) -> tuple[Board, Row]:
    """The piece of work as it stands now, for somebody who may act on it.

    Raises PermissionDenied for couriers, and ValidationError when it is no longer open.
    """
    check_may_plan(person)
    board = queries.board()
    row = board.by_key.get(key)
    if row is None:
        raise ValidationError(GONE)
    return board, row


def check_was_recommended(row: Row, what: str) -> None:
    """Raises ValidationError of what an examination alone can bring to its end."""
    if row.again is not None:
        raise ValidationError(
            f"{row.name}, is to be looked at again after a treatment: {what}. Examine the object; "
            "once that examination is signed, this leaves its queue."
        )


def piece_of(row: Row, person: Person) -> Piece:
    """The piece of a row, made when nobody touched it before; locked until the transaction ends."""
    if row.piece is None:
        form = Piece.Form.AGAIN if row.again else Piece.Form.WHOLE
        piece, is_new = Piece.objects.get_or_create(
            pk=row.key, defaults={"form": form, "made_by": person}
        )
        if is_new and not row.again:
            piece.recommendations.add(row.recommendation)
    return Piece.objects.select_for_update().get(pk=row.key)


def instead_of(model: type[AnyAct], piece: Piece, person: Person) -> AnyAct | None:
    """End what holds of this kind for a piece, and return it; None when nothing did."""
    open_one = model._default_manager.filter(piece=piece, ended_at=None).first()
    if open_one is not None:
        open_one.ended_at, open_one.ended_by = timezone.now(), person
        open_one.save(update_fields=["ended_at", "ended_by"])
    return open_one


def words_given(text: str, field: str, sentence: str, longest: int = 300) -> str:
    """The text without the space around it. Raises ValidationError when nothing is said, or more
    than can be kept."""
    text = " ".join(text.split())
    if not text:
        raise ValidationError({field: sentence})
    if len(text) > longest:
        raise ValidationError(
            {field: f"Say it in at most {longest} characters; this has {len(text)}."}
        )
    return text


WHY = "Say in a few words why, for those who read it later."


def reason_given(text: str) -> str:
    return words_given(text, "reason", WHY)
