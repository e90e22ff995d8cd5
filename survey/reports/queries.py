"""Reads reports."""

from uuid import UUID

from django.db.models import QuerySet

from survey.reports.kinds import KINDS
from survey.reports.models import Report


def reports_of(kind: str, about: UUID) -> "QuerySet[Report]":
    """All reports of one kind about one record, newest first."""
    return (
        Report.objects.filter(kind=kind, about=about)
        .select_related("asked_by")
        .order_by("-asked_at", "-id")
    )


def uses_of(sha256: str) -> list[str]:
    """The reports with this content, in words."""
    return [_in_words(one) for one in Report.objects.filter(sha256=sha256)]


def _in_words(report: Report) -> str:
    record = KINDS[report.kind].find(report.about)
    about = KINDS[report.kind].in_words(record) if record else "a record that was deleted"
    return f"report of {about}, asked for {report.asked_at:%-d %B %Y}"


def file_name(report: Report) -> str:
    """``PE.1987.3 examined 2026-05-03, report of 2026-05-04.pdf``, safe on every disk."""
    kind = KINDS[report.kind]
    made = f"{report.done_at or report.asked_at:%Y-%m-%d}"
    return f"{kind.file_name(kind.find(report.about))}, report of {made}.pdf"
