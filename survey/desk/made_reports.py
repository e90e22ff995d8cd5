"""The reports about a record as its page lists them, and the one that is being made."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.urls import reverse

from survey.desk.worker import seems_away
from survey.reports import pdf
from survey.reports.kinds import KINDS, OF_STAGE
from survey.reports.models import Report
from survey.reports.queries import reports_of

# Of a treatment both reports stand on its one page.
PAGES: dict[str, str] = {
    Report.Kind.EXAMINATION: "desk:examination",
    Report.Kind.LOAN_CHECK: "desk:loan-check",
    **dict.fromkeys(OF_STAGE.values(), "desk:loan"),
    Report.Kind.PROPOSAL: "desk:treatment",
}


@dataclass(frozen=True)
class Made:
    """A finished report. ``is_behind``: the record was changed or amended since."""

    report: Report
    is_behind: bool


@dataclass(frozen=True)
class Listed:
    """What the page says of one kind of report about one record.

    kind     its code and name
    about    the record's key
    open     the one that waits or is being made
    is_idle  it waits while nothing at all is being made, so that no worker seems to run
    failed   the newest one, when it could not be made
    made     all that were, newest first
    lacking  what this server lacks to make any; "" when nothing
    """

    kind: Report.Kind
    about: UUID
    open: Report | None
    is_idle: bool
    failed: Report | None
    made: list[Made]
    lacking: str


def listed(kind: Report.Kind, record: Any) -> Listed:
    """``_reports.html`` shows it; the page loads progress.js while one is open."""
    reports = list(reports_of(kind, record.pk))
    done = [one for one in reports if one.state == Report.State.DONE]
    revision = KINDS[kind].revision(record) if done else None
    under_way = next((one for one in reports if one.is_open), None)
    newest = reports[0] if reports else None
    return Listed(
        kind,
        record.pk,
        under_way,
        under_way is not None
        and under_way.state == Report.State.WAITING
        and seems_away(under_way.asked_at),
        newest if newest and newest.state == Report.State.FAILED else None,
        [Made(one, one.revision != revision) for one in done],
        pdf.lacking(),
    )


def page_about(report: Report, record: Any) -> str:
    """The address of the page that lists the report."""
    if report.kind == Report.Kind.TREATMENT:
        return reverse("desk:treatment", args=[record.proposal_id])
    return reverse(PAGES[report.kind], args=[record.pk])
