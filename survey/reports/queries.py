"""Reads reports, and how the record stands that they tell."""

from typing import Any

from django.db.models import Max, QuerySet

from survey.examination.models import Amendment, Examination
from survey.examination.serializers import PARTS
from survey.reports.models import Report
from survey.reports.words import moment_in_words


def reports_of(examination: Examination) -> "QuerySet[Report]":
    """All reports of an examination, newest first."""
    return (
        Report.objects.filter(examination=examination)
        .select_related("asked_by", "examination__object")
        .order_by("-asked_at", "-id")
    )


def revision_of(examination: Examination) -> int:
    """The number of the last change to the examination, to its object or visit, or to any part
    of it, deleted ones too: it grows whenever what a report would tell was changed."""
    whole = Examination.objects.filter(pk=examination.pk).values_list(
        "revision", "object__revision", "visit__revision"
    )
    revisions = list(whole.get())
    models: list[Any] = [Amendment, *(one.Meta.model for one in PARTS.values())]
    for model in models:
        rows = model.objects.filter(examination=examination)
        revisions.append(rows.aggregate(last=Max("revision"))["last"] or 0)
    return max(revisions)


def tells(examination: Examination) -> str:
    """The state of the record in words: signed or not, and how often amended since."""
    if examination.signed_at is None:
        return "The record as a draft, not yet signed"
    amendments = list(examination.amendments.filter(deleted_at=None))
    said = (
        f"The record signed by {examination.signed_name}, {moment_in_words(examination.signed_at)}"
    )
    if not amendments:
        return f"{said}, not amended"
    times = f"{len(amendments)} amendment{'s' if len(amendments) > 1 else ''}"
    last = max(one.signed_at for one in amendments)
    return f"{said}, with {times}, the last of {moment_in_words(last)}"


def uses_of(sha256: str) -> list[str]:
    """The reports with this content, in words."""
    reports = Report.objects.filter(sha256=sha256).select_related("examination__object")
    return [
        f"report of {one.examination.object.accession_number}, examined "
        f"{one.examination.started_at:%-d %B %Y}, asked for {one.asked_at:%-d %B %Y}"
        for one in reports
    ]
