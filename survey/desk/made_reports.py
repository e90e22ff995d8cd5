"""The reports of an examination as its page lists them, and the one that is being made."""

from dataclasses import dataclass

from survey.desk.worker import seems_away
from survey.examination.models import Examination
from survey.reports import pdf
from survey.reports.models import Report
from survey.reports.queries import reports_of, revision_of


@dataclass(frozen=True)
class Made:
    """A finished report. ``is_behind``: the record was changed or amended since."""

    report: Report
    is_behind: bool


@dataclass(frozen=True)
class Listed:
    """What the page says of reports.

    open     the one that waits or is being made
    is_idle  it waits while nothing at all is being made, so that no worker seems to run
    failed   the newest one, when it could not be made
    made     all that were, newest first
    lacking  what this server lacks to make any; "" when nothing
    """

    open: Report | None
    is_idle: bool
    failed: Report | None
    made: list[Made]
    lacking: str


def listed(examination: Examination) -> Listed:
    reports = list(reports_of(examination))
    done = [one for one in reports if one.state == Report.State.DONE]
    revision = revision_of(examination) if done else None
    under_way = next((one for one in reports if one.is_open), None)
    newest = reports[0] if reports else None
    return Listed(
        under_way,
        under_way is not None
        and under_way.state == Report.State.WAITING
        and seems_away(under_way.asked_at),
        newest if newest and newest.state == Report.State.FAILED else None,
        [Made(one, one.revision != revision) for one in done],
        pdf.lacking(),
    )
