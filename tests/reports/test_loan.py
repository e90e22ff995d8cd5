"""What a registrar finds in the report of one stage of a loan."""

import logging
from typing import Any

import pytest
from django.utils import timezone

from survey.loans.models import Loan, LoanCheck
from survey.loans.signed_files import read_content
from survey.loans.verifying import verify
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.sync.files import stored_path
from tests.desk.readings import photographed
from tests.factories import LoanedObjectFactory, ObjectFactory, ObservationFactory, TermFactory
from tests.reports.checks import answered, begun, signed
from tests.reports.documents import in_one, made, opened, text_of
from tests.reports.pdf_ua import faults

pytestmark = pytest.mark.django_db


@pytest.fixture
def loan() -> Loan:
    """Of three objects: one with a signed arrival check, one with a draft, one with none."""
    checks = []
    for name in ("Long tear", "Foxing"):
        earlier = photographed("normal", signed=True)
        ObservationFactory(examination=earlier, term=TermFactory(name=name), note=f"{name} before")
        check = begun(earlier)
        answered(check, earlier.observations.get(), "changed", f"{name} has grown.")
        checks.append(check)
    first, second = checks
    loan = first.loan
    second.loan.loaned.update(loan=loan, order=5000)
    LoanCheck.objects.filter(pk=second.pk).update(loan=loan)
    LoanedObjectFactory(loan=loan, object=ObjectFactory(title="Reeds left behind"), order=6000)
    signed(first)
    return loan


def test_all_checks_of_the_stage_are_in_it_with_their_pages(loan: Loan, caplog: Any) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        report = made(loan, kind=Report.Kind.LOAN_ARRIVAL)
    document = opened(report)
    text = text_of(document)
    first, second = LoanCheck.objects.order_by("examination__object__accession_number")
    at = 0
    for words in (
        "Loan checks: arrival", loan.title, "Arrival checks of 2 of 3 objects, 1 signed",
        "Not all signed.", "Contents", first.examination.object.title,
        "Of 1 point known before: 1 changed.", "The check signed by Ruth Pennarrow",
        second.examination.object.title, "Draft, not signed", "Without a check of this stage",
        "Reeds left behind", "The loan", "Conditions agreed", "At most 50 lx",
        first.examination.object.title, "Long tear: changed", "Long tear has grown.",
        "Signatures", "Attached to this document as signed-1.json",
        second.examination.object.title, "Foxing: changed", "Nobody has signed this check.",
        "signed-1.json", "This report",
    ):  # fmt: skip
        found = text.find(words, at)
        assert found >= 0, f"{words!r} is not there, or not after what comes before it"
        at = found
    # The page that the contents name is the page where the check begins.
    item = second.examination.object
    begins = [
        number
        for number, page in enumerate(document.pages, start=1)
        if f"{item.accession_number}, arrival check" in in_one(page.extract_text())
    ]
    assert len(begins) == 1
    front = in_one(document.pages[0].extract_text())
    entry = front.partition(f"{item.accession_number}, {item.title}")[2]
    assert entry.lstrip(" .").startswith(f"{begins[0]} ")
    assert faults(document) == []
    assert list(document.attachments) == ["signed-1.json"]
    [held] = read_content(stored_path(report.sha256).read_bytes())
    assert verify(held).is_verified
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []


def test_photographs_are_numbered_through_the_document(loan: Loan) -> None:
    text = text_of(opened(made(loan, kind=Report.Kind.LOAN_ARRIVAL)))
    for number in range(1, 5):
        assert f"{number} Normal light, recto." in text


def test_a_stage_without_checks_says_so(loan: Loan) -> None:
    document = opened(made(loan, kind=Report.Kind.LOAN_RETURN))
    assert "No object has a check of this stage yet." in text_of(document)
    assert faults(document) == []


def test_its_revision_grows_with_every_check_and_object(loan: Loan) -> None:
    kind = KINDS[Report.Kind.LOAN_ARRIVAL]
    check = LoanCheck.objects.all()[0]
    for number, rows in enumerate(
        (
            Loan.objects.all(),
            loan.loaned.all()[:1],
            check.points.all(),
            check.signatures.all(),
        ),
        start=5,
    ):
        type(rows.first()).objects.filter(pk=rows.first().pk).update(revision=number)
        assert kind.revision(kind.find(loan.pk)) == number


def test_of_a_deleted_loan_there_is_none(loan: Loan) -> None:
    Loan.objects.update(deleted_at=timezone.now())
    assert KINDS[Report.Kind.LOAN_ARRIVAL].find(loan.pk) is None
