"""All checks of one stage of a loan in one document: what a registrar hands over or files."""

from uuid import UUID

from survey.access.models import Person
from survey.loans.chains import chains_of, checks_in_full
from survey.loans.models import Loan, LoanCheck
from survey.reports.job import Document, Kind, Say, safe
from survey.reports.kinds.loan_check import pictures_in
from survey.reports.loan_content import counted_in_words, loan_content_of
from survey.reports.signed import signed_file
from survey.reports.standing import check_revision_of, last_of

Stage = LoanCheck.Stage


def kind_of(stage: Stage) -> Kind:
    """The kind of report that holds all checks of a stage."""

    def tells(loan: Loan) -> str:
        return counted_in_words(stage, chains_of(loan))

    def revision(loan: Loan) -> int:
        checks = checks_in_full().select_related("earlier").filter(loan=loan, stage=stage)
        rows = [loan.loaned.all(), loan.checks.filter(stage=stage)]
        return max(loan.revision, *last_of(rows), *(check_revision_of(one) for one in checks))

    def gather(loan: Loan, maker: Person, said: str, made_with: str, say: Say) -> Document:
        content = loan_content_of(loan, stage, maker, said, made_with, say)
        pictures: dict[str, tuple[bytes, str]] = {}
        for one in content.bound:
            pictures |= pictures_in(one.content)
        attached = [
            signed_file(one.check, one.content.file_name)
            for one in content.bound
            if one.content.is_signed
        ]
        return Document("reports/loan.html", content, pictures, content.lacks, attached)

    def file_name(loan: Loan) -> str:
        return f"{safe(loan.reference)} {stage.label.lower()} checks"

    def in_words(loan: Loan) -> str:
        return f"the {stage.label.lower()} checks of the loan {loan.reference}"

    return Kind(find, revision, tells, gather, number, file_name, in_words)


def find(key: UUID) -> Loan | None:
    return Loan.objects.filter(pk=key, deleted_at=None).first()


def number(loan: Loan) -> str:
    return loan.reference
