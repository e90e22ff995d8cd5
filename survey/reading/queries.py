"""Reads readings and what people said of them, in a fixed number of database queries."""

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any, TypeVar
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from survey.catalogue.models import Object
from survey.examination.models import Examination, Photograph
from survey.reading.dating.questions import DateQuestion, date_questions
from survey.reading.mates import Mate, mates_of
from survey.reading.models import Alignment, LaterPlacing, Reading, SamePlace
from survey.reading.placement import Lie, as_matrix, as_numbers, by_comparison, lies, size_of
from survey.sync.files import stored_of

Key = TypeVar("Key", bound=Hashable)

__all__ = [
    "DateQuestion",
    "Mate",
    "alignments_of",
    "date_questions",
    "earlier_placed",
    "homography_of",
    "latest_changes",
    "latest_readings",
    "lies_among",
    "lies_for",
    "lies_now",
    "lies_of",
    "mates_of",
    "outdated",
    "readings_of",
    "said_of_places",
]


def readings_of(examination: Examination) -> "QuerySet[Reading]":
    """All readings of an examination, newest first, with their corrections."""
    return (
        Reading.objects.filter(examination=examination)
        .select_related("asked_by")
        .prefetch_related("corrections__person")
        .order_by("-asked_at", "-id")
    )


def latest_readings(examination: Examination) -> dict[tuple[str, str], Reading]:
    """By side and kind the reading to show: the newest, but one that is done before one that
    failed while the photographs are the same. ``("recto", "paper")`` → Reading."""
    return _latest(readings_of(examination), lambda one: (one.side, one.kind))


def latest_changes(examination: Examination, side: str) -> dict[str, Reading]:
    """The same of what changed on one side, by light."""
    readings = readings_of(examination).filter(kind=Reading.Kind.CHANGES, side=side)
    return _latest(readings, lambda one: one.given.get("light", "normal"))


def _latest(readings: "Iterable[Reading]", key_of: Callable[[Reading], Key]) -> dict[Key, Reading]:
    found: dict[Key, Reading] = {}
    for reading in readings:
        key = key_of(reading)
        shown = found.get(key)
        if shown is None or (
            shown.state == Reading.State.FAILED
            and reading.state == Reading.State.DONE
            and reading.photographs == shown.photographs
        ):
            found[key] = reading
    return found


def outdated(reading: Reading, now: Mapping[UUID, Lie]) -> bool:
    """Whether a photograph lies otherwise now than when it was read.

    now  ``lies_now(reading, together=True)``, or ``lies_for`` of several
    """
    if reading.state != Reading.State.DONE:
        return False
    current = {str(key): lie.matrix for key, lie in now.items()}
    return any(
        key not in current or not np.allclose(as_matrix(numbers), current[key], rtol=1e-6)
        for key, numbers in reading.placed.items()
    )


def lies_of(examination: Examination, *, together: bool = False) -> dict[UUID, Lie]:
    """How each photograph of an examination lies on its side of the sheet; see placement."""
    photographs = Photograph.objects.filter(examination=examination, deleted_at=None)
    return lies_among(list(photographs), together=together)


def lies_among(photographs: list[Photograph], *, together: bool = False) -> dict[UUID, Lie]:
    """The same of photographs of any examinations; two queries, and a few more where some lie
    nowhere and were compared with earlier ones."""
    alignments, later = _beside(photographs)
    found = lies(photographs, alignments, later, together=together)
    compared = _by_comparison([one for one in photographs if one.pk not in found])
    if not compared:
        return found
    return lies(photographs, alignments, later, compared, together=together)


def _by_comparison(loose: list[Photograph]) -> dict[UUID, Lie]:
    """How photographs lie that nobody placed but that a reading of changes laid on a placed one
    of an earlier examination: the latest such reading of each counts."""
    if not loose:
        return {}
    readings = Reading.objects.filter(
        kind=Reading.Kind.CHANGES,
        state=Reading.State.DONE,
        examination__in={one.examination_id for one in loose},
        result__laid__matrix__isnull=False,
    ).order_by("done_at", "pk")
    rows = readings.values_list("result__later", "result__earlier", "result__laid")
    laid = {UUID(later): (UUID(earlier), how) for later, earlier, how in rows}
    laid = {one.pk: laid[one.pk] for one in loose if one.pk in laid}
    if not laid:
        return {}
    keys = {*laid, *(earlier for earlier, _ in laid.values())}
    known = (
        Photograph.objects.filter(pk__in=keys, deleted_at=None)
        .select_related("examination__object")
        .in_bulk()
    )
    found = {}
    before = _lies_before(known, laid)
    for key, (earlier, how) in laid.items():
        if key in known and earlier in before:
            sizes = [size_of(known[one].examination) for one in (earlier, key)]
            found[key] = by_comparison(before[earlier], how, *sizes)
    return found


def _lies_before(
    known: Mapping[UUID, Photograph], laid: Mapping[UUID, tuple[UUID, Any]]
) -> dict[UUID, Lie]:
    """How the earlier photographs of comparisons lie, themselves perhaps by a comparison with
    still earlier ones. Only ever back in time, so that it ends."""
    examinations = {
        known[earlier].examination_id
        for key, (earlier, _) in laid.items()
        if key in known
        and earlier in known
        and known[earlier].examination.started_at < known[key].examination.started_at
    }
    all_of_them = Photograph.objects.filter(examination__in=examinations, deleted_at=None)
    return lies_among(list(all_of_them)) if examinations else {}


def lies_now(reading: Reading, *, together: bool = False) -> dict[UUID, Lie]:
    """How each photograph of the reading's examination lies, and of an earlier one that the
    reading compares it with."""
    return lies_for(reading.examination, [reading], together=together)


def lies_for(
    examination: Examination, readings: Iterable[Reading], *, together: bool = False
) -> dict[UUID, Lie]:
    """The same for several readings of one examination."""
    used = {key for reading in readings for key in reading.photographs}
    earlier = Examination.objects.filter(photographs__in=used).exclude(pk=examination.pk)
    found = lies_of(examination, together=together)
    for other in earlier.distinct():
        found |= lies_of(other, together=together)
    return found


def earlier_placed(examination: Examination, side: str) -> list[Photograph]:
    """The photographs of this side that earlier examinations of the object took, that have
    arrived and that lie on the sheet; oldest first."""
    taken = list(
        Photograph.objects.filter(
            examination__object=examination.object_id,
            examination__started_at__lt=examination.started_at,
            examination__deleted_at=None,
            side=side,
            deleted_at=None,
        )
        .select_related("examination")
        .order_by("examination__started_at", "taken_at", "pk")
    )
    here = set(stored_of({one.sha256 for one in taken}))
    placed = lies_among(taken)
    return [one for one in taken if one.sha256 in here and one.pk in placed]


def homography_of(photograph: Photograph) -> list[float] | None:
    """Nine numbers, row by row: pixels of the upright picture at full size → sheet mm.

    Its own placing, else by way of the photograph it was aligned to; None when neither is known.
    """
    lie = lies_of(photograph.examination).get(photograph.pk)
    return as_numbers(lie.matrix) if lie else None


def said_of_places(item: Object) -> list[SamePlace]:
    """What people said of an object's observations, the latest word of each pair; one query."""
    rows = SamePlace.objects.filter(before__examination__object=item).select_related("person")
    return list({(one.before_id, one.after_id): one for one in rows.order_by("at", "id")}.values())


def alignments_of(examination: Examination) -> "QuerySet[Alignment]":
    return (
        Alignment.objects.filter(
            photograph__examination=examination, photograph__deleted_at=None, onto__deleted_at=None
        )
        .select_related("photograph", "onto", "nudged_by")
        .order_by("photograph__taken_at", "photograph_id")
    )


def _beside(photographs: "Iterable[Photograph]") -> tuple[dict[UUID, Any], dict[UUID, Any]]:
    keys = [one.pk for one in photographs]
    alignments = Alignment.objects.filter(photograph__in=keys, onto__in=keys)
    later = LaterPlacing.objects.filter(photograph__in=keys)
    return (
        {one.photograph_id: one for one in alignments},
        {one.photograph_id: one for one in later},
    )
