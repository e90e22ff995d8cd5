"""Loans arranged at the desk: who may, what is refused, and what follows."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from survey.access.models import AuditEntry, LoanPass, Person
from survey.loans import arranging
from survey.loans.arranging import Overlaps
from survey.loans.models import Loan, LoanedObject
from survey.sync.models import Change
from survey.sync.services import Refused
from tests.factories import ObjectFactory, PersonFactory
from tests.loans.museum import Lent, check_of, lent, new_loan, phone_of

pytestmark = pytest.mark.django_db

FIELDS: dict[str, Any] = {
    "reference": "L.2027.3",
    "title": "Seven Ships",
    "direction": "out",
    "lender": "Port Ellery Museum of Works on Paper",
    "borrower": "Northmere Hall",
    "first_day": date(2027, 3, 1),
    "last_day": date(2027, 5, 31),
}


@pytest.fixture
def registrar() -> Person:
    person: Person = PersonFactory()
    return person


def test_a_loan_is_made_in_the_log_and_in_the_trail(registrar: Person) -> None:
    loan = arranging.make_loan(registrar, **FIELDS, most_lux=50.0)
    assert (loan.title, loan.most_lux) == ("Seven Ships", 50.0)
    assert Change.objects.get(entity="loan").person == registrar
    entry = AuditEntry.objects.get()
    assert (entry.action, entry.subject) == ("loan made", "L.2027.3 Seven Ships")


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"last_day": date(2027, 2, 1)}, "last_day"),
        ({"coolest_c": 22.0, "warmest_c": 18.0}, "warmest_c"),
        ({"driest_percent": 60.0, "dampest_percent": 40.0}, "dampest_percent"),
        ({"most_lux": -1.0}, "most_lux"),
        ({"venues": [{"name": "Hall"}]}, "venues"),
        (
            {"venues": [{"name": "Hall", "first_day": "2027-04-02", "last_day": "2027-04-01"}]},
            "venues",
        ),
        (
            {"venues": [{"name": "Hall", "first_day": "2027-03-09", "last_day": "2037-04-01"}]},
            "venues",
        ),
        ({"first_day": date(2, 1, 1)}, "first_day"),
        ({"last_day": date(9999, 12, 31)}, "last_day"),
        ({"most_lux": 1e308}, "most_lux"),
        ({"most_ultraviolet_uw_lm": 1e9}, "most_ultraviolet_uw_lm"),
        ({"title": " "}, "title"),
    ],
)
def test_a_loan_that_cannot_be_is_refused_with_a_sentence(
    registrar: Person, wrong: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refused) as refusal:
        arranging.make_loan(registrar, **(FIELDS | wrong))
    assert refusal.value.reasons[field].endswith(".")
    assert not Loan.objects.exists() and not AuditEntry.objects.exists()


def test_a_number_is_one_loans(registrar: Person) -> None:
    loan = arranging.make_loan(registrar, **FIELDS)
    with pytest.raises(Refused, match="is the number of the loan “Seven Ships” already"):
        arranging.make_loan(registrar, **FIELDS)
    # A lender's number may be the same as one of our own.
    arranging.make_loan(registrar, **(FIELDS | {"direction": "in"}))
    arranging.edit_loan(loan, registrar, {"title": "Eight Ships"})
    arranging.remove_loan(loan, registrar)
    arranging.make_loan(registrar, **FIELDS)


def test_a_venue_stays_within_the_loan_when_its_days_move(registrar: Person) -> None:
    days = {"first_day": "2027-03-09", "last_day": "2027-03-20"}
    loan = arranging.make_loan(registrar, **FIELDS, venues=[{"name": "Hall", **days}])
    with pytest.raises(Refused, match="Hall, 9 March to 20 March 2027, is not within the loan"):
        arranging.edit_loan(loan, registrar, {"first_day": date(2027, 3, 10)})


def test_couriers_arrange_nothing() -> None:
    courier = PersonFactory(role=Person.Role.COURIER)
    loan, item = new_loan(), ObjectFactory()
    [loaned] = arranging.add_objects(loan, [item], PersonFactory())
    attempts = [
        lambda: arranging.make_loan(courier, **FIELDS),
        lambda: arranging.edit_loan(loan, courier, {"title": "Mine"}),
        lambda: arranging.remove_loan(loan, courier),
        lambda: arranging.add_objects(loan, [ObjectFactory()], courier),
        lambda: arranging.edit_object(loaned, courier, {"crate": "Mine"}),
        lambda: arranging.remove_object(loaned, courier),
    ]
    last = Change.objects.count()
    for attempt in attempts:
        with pytest.raises(PermissionDenied, match="head of department arrange loans"):
            attempt()
    assert Change.objects.count() == last


def test_objects_go_to_the_end_of_the_list(registrar: Person) -> None:
    loan = new_loan()
    first, second, third = (ObjectFactory() for _ in range(3))
    arranging.add_objects(loan, [first, second], registrar, crate="Crate 1")
    arranging.add_objects(loan, [third], registrar)
    assert [one.object for one in arranging.living_objects(loan)] == [first, second, third]
    assert [one.crate for one in arranging.living_objects(loan)] == ["Crate 1", "Crate 1", ""]


def test_all_are_put_on_a_loan_or_none(registrar: Person) -> None:
    loan = new_loan()
    there, new = ObjectFactory(), ObjectFactory()
    arranging.add_objects(loan, [there], registrar)
    with pytest.raises(Refused, match=f"Already on this loan: {there.accession_number}"):
        arranging.add_objects(loan, [new, there], registrar)
    assert [one.object for one in arranging.living_objects(loan)] == [there]


@pytest.mark.parametrize(("gap_days", "clashes"), [(0, True), (1, False), (-10, True)])
def test_two_loans_at_once_are_asked_about(registrar: Person, gap_days: int, clashes: bool) -> None:
    """The second begins so many days after the first one's last day."""
    first = new_loan()
    begins = first.last_day + timedelta(days=gap_days)
    second = new_loan(first_day=begins, last_day=begins + timedelta(days=20))
    item = ObjectFactory()
    arranging.add_objects(first, [item], registrar)
    if not clashes:
        arranging.add_objects(second, [item], registrar)
    else:
        with pytest.raises(Overlaps, match="say that it is meant") as refusal:
            arranging.add_objects(second, [item], registrar)
        assert str(first) in str(refusal.value) and item.accession_number in str(refusal.value)
        arranging.add_objects(second, [item], registrar, is_meant=True)
    assert LoanedObject.objects.filter(object=item).count() == 2


def test_moving_the_days_onto_another_loan_is_asked_about_too(registrar: Person) -> None:
    first = new_loan()
    later = new_loan(
        first_day=first.last_day + timedelta(days=5), last_day=first.last_day + timedelta(days=9)
    )
    item = ObjectFactory()
    for loan in (first, later):
        arranging.add_objects(loan, [item], registrar)
    changed = {"last_day": first.last_day + timedelta(days=6)}
    with pytest.raises(Overlaps):
        arranging.edit_loan(first, registrar, changed)
    first.refresh_from_db()
    assert first.last_day < later.first_day
    arranging.edit_loan(first, registrar, changed, is_meant=True)
    # What has nothing to do with days asks nothing more.
    arranging.edit_loan(first, registrar, {"note": "By sea."})


def test_what_was_taken_off_or_out_stands_in_nobody_s_way(registrar: Person) -> None:
    gone, taken_off, now = new_loan(), new_loan(), new_loan()
    item = ObjectFactory()
    arranging.add_objects(gone, [item], registrar)
    arranging.remove_loan(gone, registrar)
    [loaned] = arranging.add_objects(taken_off, [item], registrar)
    arranging.remove_object(loaned, registrar)
    arranging.add_objects(now, [item], registrar)
    assert [one.loan for one in LoanedObject.objects.filter(deleted_at=None)] == [now]


def test_an_object_that_was_checked_stays_on_its_loan(registrar: Person) -> None:
    one: Lent = lent(new_loan())
    check_of(one)
    [loaned] = arranging.living_objects(one.loan)
    with pytest.raises(Refused, match=r"There is a check of .* on this loan, so it stays on it"):
        arranging.remove_object(loaned, registrar)
    with pytest.raises(Refused, match="There is a check on this loan, so it stays"):
        arranging.remove_loan(one.loan, registrar)
    loaned.refresh_from_db()
    assert loaned.deleted_at is None


def test_a_loan_that_is_taken_out_leaves_no_pass_open(registrar: Person) -> None:
    loan = new_loan()
    arranging.add_objects(loan, [ObjectFactory()], registrar)
    phone = phone_of(loan)
    arranging.remove_loan(loan, registrar)
    assert phone.tablet.get("/api/sync/pull").status_code == 401
    assert not LoanPass.objects.get().is_open(timezone.now())
    loan.refresh_from_db()
    assert loan.deleted_at is not None and not arranging.living_objects(loan).exists()


def test_how_an_object_travels_is_changed_alone(registrar: Person) -> None:
    loan = new_loan()
    [loaned] = arranging.add_objects(loan, [ObjectFactory()], registrar, crate="Crate 1")
    arranging.edit_object(loaned, registrar, {"glazing": "Acrylic, 3 mm"})
    loaned.refresh_from_db()
    assert (loaned.crate, loaned.glazing) == ("Crate 1", "Acrylic, 3 mm")
    change = Change.objects.filter(entity="loaned_object").order_by("number").last()
    assert change is not None and change.fields == {"glazing": "Acrylic, 3 mm"}
