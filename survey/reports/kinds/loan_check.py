"""One check of an object on a loan: for the lender, the borrower and the file."""

from uuid import UUID

from survey.access.models import Person
from survey.loans.models import LoanCheck
from survey.reports.check_content import CheckContent, check_content_of
from survey.reports.job import Document, Kind, Pictures, Say, safe
from survey.reports.signed import signed_file
from survey.reports.standing import check_revision_of, check_tells_of
from survey.reports.svg import pictures_of


def find(key: UUID) -> LoanCheck | None:
    rows = LoanCheck.objects.filter(deleted_at=None, examination__deleted_at=None)
    return rows.select_related("loan", "earlier", "examination__object").filter(pk=key).first()


def gather(check: LoanCheck, maker: Person, tells: str, made_with: str, say: Say) -> Document:
    content = check_content_of(check, maker, tells, made_with, say)
    return Document(
        "reports/loan_check.html",
        content,
        pictures_in(content),
        content.lacks,
        [signed_file(check)] if check.is_signed else [],
    )


def pictures_in(content: CheckContent) -> Pictures:
    """Photographs and signatures, by their address."""
    drawn = {
        one.address: (one.svg.encode(), "image/svg+xml") for one in content.signatures if one.svg
    }
    return pictures_of(content.drawn) | drawn


def number(check: LoanCheck) -> str:
    return f"{check.loan.reference}, {check.examination.object.accession_number}"


def file_name(check: LoanCheck) -> str:
    day = f"{check.examination.started_at:%Y-%m-%d}"
    return f"{safe(number(check))} {check.get_stage_display().lower()} check {day}"


def in_words(check: LoanCheck) -> str:
    stage = check.get_stage_display().lower()
    return f"the {stage} check of {check.examination.object.accession_number}"


KIND = Kind(find, check_revision_of, check_tells_of, gather, number, file_name, in_words)
