"""What is out of the house on a loan."""

from datetime import date, timedelta

import pytest

from survey.loans.away import away
from survey.loans.models import Loan, LoanCheck
from tests.factories import LoanCheckFactory, LoanedObjectFactory, LoanFactory

pytestmark = pytest.mark.django_db

TODAY = date(2026, 5, 6)


@pytest.mark.parametrize(
    ("first", "last", "is_away"),
    [(-1, 0, True), (-7, 30, True), (0, 30, False), (3, 30, False), (-7, -1, False)],
)
def test_it_is_away_from_the_day_after_the_loan_began_until_its_last(first, last, is_away):
    loan = LoanFactory(
        first_day=TODAY + timedelta(days=first), last_day=TODAY + timedelta(days=last)
    )
    one = LoanedObjectFactory(loan=loan)
    assert away(TODAY) == ({one.object_id: loan} if is_away else {})


def test_what_is_borrowed_is_here():
    LoanedObjectFactory(
        loan=LoanFactory(
            direction=Loan.Direction.IN, first_day=TODAY, last_day=TODAY + timedelta(days=9)
        )
    )
    assert away(TODAY + timedelta(days=1)) == {}


def test_it_is_back_when_its_check_on_return_is_signed():
    loan = LoanFactory(first_day=TODAY - timedelta(days=7), last_day=TODAY + timedelta(days=7))
    check = LoanCheckFactory(loan=loan, stage=LoanCheck.Stage.RETURN)
    other = LoanedObjectFactory(loan=loan)
    assert set(away(TODAY)) == {check.examination.object_id, other.object_id}
    check.statement = "{}"
    check.save()
    assert set(away(TODAY)) == {other.object_id}
