"""Reads treatments: what waits for whom, those of an object, what is to be looked at again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet, Sum

from survey.catalogue.models import Object
from survey.examination.models import Examination, Photograph
from survey.treatment.models import TreatmentProposal, TreatmentRecord


@dataclass(frozen=True)
class LookAgain:
    """An object that is to be looked at again on a day, because of a treatment.

    is_seen_since  whether a later signed examination did
    """

    object: Object
    record: TreatmentRecord
    on: date
    is_seen_since: bool


def proposals() -> "QuerySet[TreatmentProposal]":
    """All of living objects, newest first, with what a list of them shows."""
    return (
        TreatmentProposal.objects.filter(object__deleted_at=None)
        .select_related("object", "proposed_by", "record", "recommendation")
        .prefetch_related("decisions__person")
        .annotate(planned_hours=Sum("steps__hours"))
        .order_by("-made_at", "-id")
    )


def treatments_of(item: Object) -> list[TreatmentProposal]:
    """Of one object, newest first; two queries."""
    return list(proposals().filter(object=item))


def look_again(objects: Iterable[Any] | None = None) -> list[LookAgain]:
    """What is to be looked at again, the nearest day first: of each object by the last treatment
    that was closed. For the queues, and for an object's page. Two queries."""
    rows = (
        TreatmentRecord.objects.filter(
            look_again_on__isnull=False, proposal__object__deleted_at=None
        )
        .select_related("proposal__object")
        .order_by("-closed_at", "-id")
    )
    if objects is not None:
        rows = rows.filter(proposal__object__in=list(objects))
    last: dict[Any, TreatmentRecord] = {}
    for record in rows:
        last.setdefault(record.proposal.object_id, record)
    seen = _seen_after(last)
    found = [
        LookAgain(record.proposal.object, record, record.look_again_on, key in seen)
        for key, record in last.items()
        if record.look_again_on
    ]
    return sorted(found, key=lambda one: (one.on, one.object.accession_number))


def photographs_for(proposal: TreatmentProposal) -> "QuerySet[Photograph]":
    """Those of the object's examinations, newest examination first: to choose from."""
    return (
        Photograph.objects.filter(
            examination__object=proposal.object_id,
            examination__deleted_at=None,
            deleted_at=None,
        )
        .select_related("examination__visit")
        .order_by("-examination__started_at", "side", "taken_at", "id")
    )


def _seen_after(last: dict[Any, TreatmentRecord]) -> set[Any]:
    """The objects of these that a signed examination saw on or after the day that was set."""
    rows = Examination.objects.filter(
        object__in=last, deleted_at=None, signed_at__isnull=False
    ).values_list("object_id", "started_at")
    return {key for key, at in rows if (on := last[key].look_again_on) and at.date() >= on}
