"""Reads examinations with all that hangs on them, in a fixed number of database queries."""

from collections.abc import Iterable

from django.db.models import Prefetch, QuerySet

from survey.examination.amended import added_by
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
    Watermark,
)
from survey.vocabulary.models import Term


def examinations_in_full() -> "QuerySet[Examination]":
    """Examinations, newest first, with their parts. What was deleted is left out everywhere."""
    parts = {
        "photographs": Photograph.objects.filter(deleted_at=None),
        "observations": Observation.objects.filter(deleted_at=None).select_related("term"),
        "measurements": Measurement.objects.filter(deleted_at=None),
        "recommendations": Recommendation.objects.filter(deleted_at=None),
        "watermarks": Watermark.objects.filter(deleted_at=None),
        "amendments": Amendment.objects.filter(deleted_at=None),
    }
    return (
        Examination.objects.filter(deleted_at=None)
        .select_related("visit", "object", "examiner", "location")
        .prefetch_related(*(Prefetch(name, rows) for name, rows in parts.items()))
        .order_by("-started_at", "-id")
    )


def terms_added(amendments: Iterable[Amendment]) -> dict[str, Term]:
    """The terms of the observations that these amendments add, by code; a query where any does."""
    codes = {str(added.get("term")) for one in amendments if (added := added_by(one))}
    return Term.objects.in_bulk(codes) if codes else {}


def uses_of(sha256: str) -> list[str]:
    """What the photographs with this content show, in words."""
    photographs = Photograph.objects.filter(sha256=sha256, deleted_at=None)
    return [
        f"{photograph.light} light, {photograph.side}, of "
        f"{photograph.examination.object.accession_number}, "
        f"examined {photograph.examination.started_at:%-d %B %Y}"
        for photograph in photographs.select_related("examination__object")
    ]
