"""Sheets that may come from one mould, found among the paper readings of the whole catalogue."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.examination.models import Examination, Watermark
from survey.imaging.mould import Likeness, Traits, WatermarkBox, rank, traits_of
from survey.imaging.paper import Paper, paper_from
from survey.reading.models import Reading

SIDES: dict[str, bool] = {"mould": True, "felt": False}


# Below ten times likelier (its logarithm) a candidate is not worth anybody's look.
LEAST = math.log(10)


@dataclass(frozen=True)
class Mate:
    """One other sheet, and how like its structure is.

    reading   the paper reading that was compared
    likeness  imaging's, with its words
    """

    examination: Examination
    reading: Reading
    likeness: Likeness

    @property
    def words(self) -> str:
        return self.likeness.words


def mates_of(examination: Examination, most: int = 10, least: float = LEAST) -> list[Mate]:
    """The sheets of other objects most like this one in their mould, most like first.

    least  of the logarithm of the likelihood ratio: above 0 one mould explains the two sheets
           better than two moulds do

    Empty when this sheet has no paper reading that tells something of its mould. In three
    database queries.
    """
    mine: Traits | None = None
    others: dict[UUID, Traits] = {}
    readings: dict[UUID, Reading] = {}
    for reading in _newest_paper_readings():
        if reading.examination.object_id == examination.object_id:
            if mine is None and reading.examination_id == examination.pk:
                mine = _traits(reading)
        elif (traits := _traits(reading)) is not None:
            others[reading.pk] = traits
            readings[reading.pk] = reading
    if mine is None:
        return []
    return [
        Mate(readings[key].examination, readings[key], likeness)
        for key, likeness in rank(mine, others)[:most]
        if likeness.log_ratio > least
    ]


def _newest_paper_readings() -> list[Reading]:
    """Of each examination and side the newest paper reading that is done, the recto first."""
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


def _traits(reading: Reading) -> Traits | None:
    """What the reading, as it stands, and the watermarks noted on its side tell of the mould."""
    paper = paper_from(reading.stands or {})
    if not paper.intervals and paper.laid_per_cm is None:
        return None
    marks = [
        mark
        for mark in reading.examination.watermarks.all()
        if mark.deleted_at is None and mark.side == reading.side
    ]
    boxes = (_box(paper, mark) for mark in marks if mark.kind == Watermark.Kind.WATERMARK)
    seen = (SIDES[mark.seen_from] for mark in marks if mark.seen_from in SIDES)
    return traits_of(paper, next((box for box in boxes if box), None), next(seen, None))


def _box(paper: Paper, mark: Watermark) -> WatermarkBox | None:
    """A watermark's outline among the chain lines; None when either is not known."""
    points: Sequence[Sequence[float]] = (mark.region or {}).get("points", [])
    if paper.chain_angle_deg is None or not paper.chains or not points:
        return None
    angle = math.radians(paper.chain_angle_deg.value)
    across = [x * math.cos(angle) + y * math.sin(angle) for x, y in points]
    along = [y * math.cos(angle) - x * math.sin(angle) for x, y in points]
    first = paper.chains[0].offset_mm
    return WatermarkBox(
        start_mm=min(across) - first,
        end_mm=max(across) - first,
        along_mm=(min(along) + max(along)) / 2,
        height_mm=max(along) - min(along),
        u_mm=mark.uncertainty_mm,
    )
