"""Reads treatments: what waits for whom, those of an object, what is to be looked at again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Sum

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
    that was closed. For the queues, and for an object's page. One query."""
    seen = Examination.objects.filter(
        object=OuterRef("proposal__object"),
        deleted_at=None,
        signed_at__isnull=False,
        started_at__date__gte=OuterRef("look_again_on"),
    )
    rows = (
        TreatmentRecord.objects.filter(
            look_again_on__isnull=False, proposal__object__deleted_at=None
        )
        .select_related("proposal__object", "closed_by")
        .annotate(is_seen_since=Exists(seen))
        .order_by("-closed_at", "-id")
    )
    if objects is not None:
        rows = rows.filter(proposal__object__in=list(objects))
    last: dict[Any, Any] = {}
    for record in rows:
        last.setdefault(record.proposal.object_id, record)
    found = [
        LookAgain(record.proposal.object, record, record.look_again_on, record.is_seen_since)
        for record in last.values()
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
