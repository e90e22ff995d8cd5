"""Reads examinations with all that hangs on them, in a fixed number of database queries."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Prefetch, QuerySet

from survey.catalogue.models import Object
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
)
from survey.sync.models import StoredFile


def examinations_in_full() -> "QuerySet[Examination]":
    """Examinations, newest first, with their parts. What was deleted is left out everywhere."""
    parts = {
        "photographs": Photograph.objects.filter(deleted_at=None),
        "observations": Observation.objects.filter(deleted_at=None).select_related("term"),
        "measurements": Measurement.objects.filter(deleted_at=None),
        "recommendations": Recommendation.objects.filter(deleted_at=None),
        "amendments": Amendment.objects.filter(deleted_at=None),
    }
    return (
        Examination.objects.filter(deleted_at=None)
        .select_related("visit", "object", "examiner", "location")
        .prefetch_related(*(Prefetch(name, rows) for name, rows in parts.items()))
        .order_by("-started_at", "-id")
    )


def history_of(item: Object) -> "QuerySet[Examination]":
    """Every examination of an object in full, newest first."""
    return examinations_in_full().filter(object=item)


def contents_of(examinations: Iterable[Examination]) -> dict[str, dict[str, Any]]:
    """By SHA-256, what was found in those photographs' files that have arrived.

    A photograph whose SHA-256 is missing here is still on the tablet that took it.
    """
    wanted = {
        photograph.sha256
        for examination in examinations
        for photograph in examination.photographs.all()
    }
    return dict(StoredFile.objects.filter(pk__in=wanted).values_list("sha256", "facts"))
