"""Sheets that may come from one mould, found among the paper readings of the whole catalogue."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.examination.models import Examination
from survey.reading.models import Reading


@dataclass(frozen=True)
class Mate:
    """One other sheet, and how like its structure is.

    reading   the paper reading that was compared
    likeness  imaging's, with its words
    """

    examination: Examination
    reading: Reading
    likeness: Any

    @property
    def words(self) -> str:
        return str(self.likeness.words)


def mates_of(examination: Examination, most: int = 10) -> list[Mate]:
    """The sheets of other objects most like this one in their mould, most like first.

    Empty when this sheet has no paper reading with chain lines. In three database queries.
    """
    try:
        from survey.imaging.mould import rank
    except ImportError:
        return []
    newest = _newest_paper_readings()
    mine = next(
        (
            traits
            for reading in newest
            if reading.examination_id == examination.pk and (traits := _traits(reading))
        ),
        None,
    )
    if mine is None:
        return []
    others: dict[UUID, Any] = {}
    readings: dict[UUID, Reading] = {}
    for reading in newest:
        if reading.examination.object_id == examination.object_id:
            continue
        traits = _traits(reading)
        if traits is not None:
            others[reading.pk] = traits
            readings[reading.pk] = reading
    ranked: Iterable[tuple[UUID, Any]] = rank(mine, others)
    return [
        Mate(readings[key].examination, readings[key], likeness)
        for key, likeness in list(ranked)[:most]
    ]


def _newest_paper_readings() -> list[Reading]:
    """Of each examination the newest paper reading that is done, best first."""
    done = (
        Reading.objects.filter(
            kind=Reading.Kind.PAPER, state=Reading.State.DONE, examination__deleted_at=None
        )
        .select_related("examination__object", "examination__visit")
        .prefetch_related("corrections", "examination__watermarks")
        .order_by("-asked_at", "-id")
    )
    newest: dict[tuple[Any, str], Reading] = {}
    for reading in done:
        newest.setdefault((reading.examination_id, reading.side), reading)
    return sorted(newest.values(), key=lambda one: one.side)


def _traits(reading: Reading) -> Any:
    marks = [
        mark
        for mark in reading.examination.watermarks.all()
        if mark.deleted_at is None and mark.side == reading.side
    ]
    from survey.reading.kinds.paper import traits_of

    return traits_of(reading.stands or {}, marks)
