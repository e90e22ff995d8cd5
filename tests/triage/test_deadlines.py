"""What is due when, with the work left on it."""

from datetime import timedelta

import pytest
from django.utils import timezone

from survey.triage import holding, queries
from survey.triage.deadlines import deadlines, nearest_due
from tests.factories import LoanedObjectFactory, LoanFactory, NeedFactory, ObjectFactory
from tests.triage.conftest import row_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def today():
    return timezone.localdate()


def found(today, **asked):
    return deadlines(queries.board(today), today, **asked)


def test_an_exhibition_is_one_deadline_with_all_its_objects_and_their_work(four, today):
    due = today + timedelta(days=20)
    for work in four[:2]:
        NeedFactory(object=work.examination.object, title="Ink", due=due)
    NeedFactory(object=ObjectFactory(), title="Ink", due=due)
    (deadline,) = found(today)
    assert (deadline.what, deadline.due) == ("Exhibition “Ink”", due)
    assert (len(deadline.objects), len(deadline.rows), deadline.hours) == (3, 2, 8.0)


def test_missing_hours_are_counted_and_not_taken_for_none(four, today):
    four[0].hours = None
    four[0].save()
    for work in four[:2]:
        NeedFactory(object=work.examination.object, title="Ink", due=today)
    (deadline,) = found(today)
    assert (deadline.hours, deadline.without_hours) == (4.0, 1)


def test_a_loan_is_due_when_it_begins_and_when_it_ends(four, today):
    loan = LoanFactory(
        reference="L.1",
        title="Coasts",
        first_day=today + timedelta(days=5),
        last_day=today + timedelta(days=40),
    )
    LoanedObjectFactory(loan=loan, object=four[0].examination.object)
    begins, ends = found(today)
    assert [begins.what, ends.what] == ["Loan L.1 “Coasts” begins", "Loan L.1 “Coasts” ends"]
    assert [begins.due, ends.due] == [loan.first_day, loan.last_day]
    assert begins.hours == 4.0


def test_a_loan_that_began_is_told_only_while_work_is_open(four, today):
    loan = LoanFactory(first_day=today - timedelta(days=5), last_day=today + timedelta(days=40))
    assert [one.what.endswith("ends") for one in found(today)] == [True]
    LoanedObjectFactory(loan=loan, object=four[0].examination.object)
    began, ends = found(today)
    assert (began.what.split()[-1], ends.what.split()[-1]) == ("began", "ends")
    loan.last_day = today - timedelta(days=1)
    loan.save()
    assert found(today) == []


def test_a_passed_need_stays_until_somebody_sees_to_it(four, today):
    NeedFactory(object=four[0].examination.object, due=today - timedelta(days=30))
    assert len(found(today)) == 1


def test_only_what_is_due_by_a_day_is_told_when_asked_so(four, today):
    for days in (10, 50):
        NeedFactory(object=four[0].examination.object, due=today + timedelta(days=days))
    assert len(found(today, until=today + timedelta(weeks=6))) == 1


def test_work_comes_back_from_hold_on_its_day(four, head, today):
    holding.hold(four[0].pk, person=head, reason="No room", until=today + timedelta(days=9))
    assert found(today) == []
    (deadline,) = found(today, with_holds=True)
    assert (deadline.what, deadline.kind) == ("Back from hold: A, treat", "hold")


def test_the_key_stays_when_the_day_is_moved_and_differs_between_deadlines(four, today):
    needs = [
        NeedFactory(object=four[0].examination.object, title=title, due=today)
        for title in ("Ink", "Water")
    ]
    before = {one.what: one.key for one in found(today)}
    assert len(set(before.values())) == 2
    needs[0].due = today + timedelta(days=3)
    needs[0].save()
    assert {one.what: one.key for one in found(today)} == before


def test_the_nearest_of_several_days_counts_for_a_piece_of_work(four, today):
    assert nearest_due(row_of(four[0])) is None
    for days in (30, 10):
        NeedFactory(object=four[0].examination.object, due=today + timedelta(days=days))
    assert nearest_due(row_of(four[0])) == today + timedelta(days=10)


@pytest.mark.parametrize("number", [1, 12])
def test_the_cost_does_not_grow(four, today, number, django_assert_num_queries):
    for _ in range(number):
        NeedFactory(object=ObjectFactory(), due=today)
        LoanedObjectFactory()
    board = queries.board(today)
    with django_assert_num_queries(4):
        assert len(deadlines(board, today)) == 2 * number
