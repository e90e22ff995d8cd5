"""Loans at the desk: the list, one loan, its objects, and its passes."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.access.models import LoanPass
from survey.desk.survey_forms import HandOutForm
from survey.loans import arranging
from survey.loans.models import Loan, LoanCheck, LoanedObject
from survey.sync.models import Change
from survey.triage.handing import colleagues
from tests.desk.conftest import text_of
from tests.factories import ObjectFactory, PersonFactory
from tests.loans.museum import check_of, lent, new_loan, opened, phone_of, signed

pytestmark = pytest.mark.django_db

NO_VENUES = {"venues-TOTAL_FORMS": "0", "venues-INITIAL_FORMS": "0"}
FORM = {
    "reference": "L.2027.3",
    "title": "Seven Ships",
    "direction": "out",
    "lender": "Port Ellery Museum of Works on Paper",
    "borrower": "Northmere Hall",
    "first_day": "2027-03-01",
    "last_day": "2027-05-31",
    "couriers": "Ruth Pennarrow\n\nTobias Fell\n",
    "most_lux": "50",
    "driest_percent": "45",
    "dampest_percent": "55",
}


def test_loans_stand_by_their_time_with_what_is_open(desk: Any) -> None:
    today = timezone.localdate()
    mine = lent(new_loan(title="Now out"))
    lent(mine.loan)
    signed(check_of(mine), "Ruth Pennarrow")
    new_loan(title="To come", first_day=today + timedelta(days=3))
    new_loan(title="Gone by", first_day=today - timedelta(days=9), last_day=today)
    over = new_loan(first_day=today - timedelta(days=9), last_day=today - timedelta(days=2))
    page = text_of(desk.get(reverse("desk:loans")))
    now, coming, past = (page.index(f" {name} ") for name in ("Now", "Coming", "Past"))
    assert now < page.index("Now out") < coming < page.index("To come") < past
    assert page.index(over.title) > past and page.index("Gone by") < coming
    assert "Outgoing check of 0 of 2 objects signed" in page
    assert "Begins in 3 days" in page and "Ended 2 days ago" in page and "Ends today" in page


def test_a_loan_is_made_by_its_form(desk: Any) -> None:
    venues = {
        "venues-TOTAL_FORMS": "2",
        "venues-INITIAL_FORMS": "0",
        "venues-0-name": "Northmere Hall",
        "venues-0-first_day": "2027-03-05",
        "venues-0-last_day": "2027-04-05",
        "venues-1-name": "",
    }
    answer = desk.post(reverse("desk:loan-make"), FORM | venues)
    loan = Loan.objects.get()
    assert answer["Location"] == reverse("desk:loan-objects", args=[loan.pk])
    assert loan.couriers == ["Ruth Pennarrow", "Tobias Fell"]
    assert loan.venues == [
        {"name": "Northmere Hall", "first_day": "2027-03-05", "last_day": "2027-04-05"}
    ]
    page = text_of(desk.get(reverse("desk:loan", args=[loan.pk])))
    assert "At most 50 lx" in page and "45 to 55 %" in page
    assert "1 March to 31 May 2027" in page and "5 March to 5 April 2027" in page


def test_what_is_wrong_is_said_beside_its_field(desk: Any) -> None:
    answer = desk.post(reverse("desk:loan-make"), FORM | NO_VENUES | {"last_day": "2027-02-01"})
    assert answer.status_code == 400
    assert "The loan ends before it begins: mend one of the two days." in text_of(answer)
    assert 'value="Seven Ships"' in answer.content.decode()
    half = {"venues-TOTAL_FORMS": "1", "venues-INITIAL_FORMS": "0", "venues-0-name": "Hall"}
    assert desk.post(reverse("desk:loan-make"), FORM | half).status_code == 400
    assert not Loan.objects.exists()


def test_only_what_was_changed_is_sent_on(desk: Any) -> None:
    loan = arranging.make_loan(PersonFactory(), **{
        name: value for name, value in FORM.items() if name not in ("couriers", "most_lux")
    })  # fmt: skip
    page = desk.get(reverse("desk:loan-edit", args=[loan.pk])).content.decode()
    assert 'value="2027-03-01"' in page
    Loan.objects.filter(pk=loan.pk).update(handling="Flat only.")
    desk.post(
        reverse("desk:loan-edit", args=[loan.pk]),
        FORM | NO_VENUES | {"couriers": "", "most_lux": "60", "handling": "Flat only."},
    )
    loan.refresh_from_db()
    assert (loan.most_lux, loan.handling, loan.title) == (60, "Flat only.", "Seven Ships")
    change = Change.objects.filter(entity="loan").order_by("number").last()
    assert change is not None and change.fields == {"most_lux": 60.0}


def test_objects_are_put_on_by_number_and_found_by_a_search(desk: Any) -> None:
    loan = new_loan()
    first, second = ObjectFactory(title="Reeds in a bay"), ObjectFactory()
    address = reverse("desk:loan-objects", args=[loan.pk])
    numbers = f"{first.accession_number}\n{second.accession_number}\n"
    answer = desk.post(address, {"numbers": f"{numbers}PE.0\n", "crate": "Crate 3"})
    assert answer.status_code == 400 and "The catalogue has no PE.0" in text_of(answer)
    assert not LoanedObject.objects.exists()
    assert desk.post(address, {"numbers": numbers, "crate": "Crate 3"}).status_code == 302
    assert [one.crate for one in arranging.living_objects(loan)] == ["Crate 3", "Crate 3"]
    assert "On this loan" in text_of(desk.get(address, {"text": "reeds bay"}))


def test_being_on_two_loans_is_a_tick_that_comes_when_it_is_needed(desk: Any) -> None:
    first, second, item = new_loan(), new_loan(), ObjectFactory()
    arranging.add_objects(first, [item], PersonFactory())
    address = reverse("desk:loan-objects", args=[second.pk])
    assert "is_meant" not in desk.get(address).content.decode()
    sent = {"numbers": item.accession_number}
    answer = desk.post(address, sent)
    assert answer.status_code == 400 and 'name="is_meant"' in answer.content.decode()
    assert f"is also on {first}" in text_of(answer)
    assert desk.post(address, sent | {"is_meant": "on"}).status_code == 302
    assert LoanedObject.objects.count() == 2


def test_the_chain_says_of_each_object_how_far_it_is(desk: Any) -> None:
    one = lent(new_loan())
    signed(check_of(one, LoanCheck.Stage.OUTGOING), "Wren Vale", "Ruth Pennarrow")
    check_of(one, LoanCheck.Stage.ARRIVAL, venue="Northmere Hall")
    page = text_of(desk.get(reverse("desk:loan", args=[one.loan.pk])))
    chain = page[page.index("Outgoing") :]
    assert re.search(r"Outgoing Signed .* by Wren Vale and Ruth Pennarrow Arrival", chain)
    assert re.search(r"Arrival , Northmere Hall Begun .*, not signed Interim None", chain)
    assert "Return Not yet" in chain
    assert "Arrival check of 0 of 1 object signed; 1 check begun and not signed" in page


def test_a_pass_is_shown_once_with_its_code(desk: Any) -> None:
    one = lent(new_loan())
    answer = desk.post(reverse("desk:pass-make", args=[one.loan.pk]), {"holder": "Tobias Fell"})
    assert answer.status_code == 200 and "no-store" in answer["Cache-Control"]
    page = answer.content.decode()
    found = re.search(r"http://testserver/field/#/pass/([\w-]{40,})", page)
    assert found is not None and "<svg" in page
    said = text_of(answer)
    assert one.object.accession_number in said and "Without a network" in said
    assert f"It ends with {one.loan.last_day:%-d %B %Y}" in said
    assert opened(found[1]).status_code == 200
    token = found[1]
    for address in ("desk:loan", "desk:loan-edit", "desk:loan-objects"):
        assert token not in desk.get(reverse(address, args=[one.loan.pk])).content.decode()


def test_a_pass_needs_a_name_and_a_loan_that_goes_on(desk: Any) -> None:
    loan = new_loan()
    answer = desk.post(reverse("desk:pass-make", args=[loan.pk]), {"holder": " "})
    assert answer.status_code == 400
    today = timezone.localdate()
    over = new_loan(first_day=today - timedelta(days=9), last_day=today - timedelta(days=1))
    desk.post(reverse("desk:pass-make", args=[over.pk]), {"holder": "Tobias Fell"})
    assert "Change the last day first" in text_of(desk.get(reverse("desk:loan", args=[over.pk])))
    assert not LoanPass.objects.exists()


def test_passes_say_in_words_how_they_are(desk: Any) -> None:
    loan = new_loan()
    arranging.give_pass(loan, "Not yet come", PersonFactory())
    phone = phone_of(loan)
    phone.tablet.get("/api/sync/pull")
    address = reverse("desk:loan", args=[loan.pk])
    page = text_of(desk.get(address))
    assert "Not opened yet" in page
    assert re.search(r"Opened on Blue phone on .* 2\d{3}, last seen", page)
    desk.post(reverse("desk:pass-withdraw", args=[phone.held.pk]))
    assert re.search(r"Closed Withdrawn .* Opened on Blue phone", text_of(desk.get(address)))
    assert phone.tablet.get("/api/sync/pull").status_code == 401


def test_the_device_of_a_pass_is_told_apart_and_revoked_with_its_pass(
    head_desk: Any, at_desk: Any
) -> None:
    phone = phone_of(new_loan())
    listed = text_of(head_desk.get(reverse("desk:devices")))
    assert "Blue phone" in listed and "Courier’s pass of a loan , no account" in listed
    assert "Blue phone" not in text_of(at_desk(PersonFactory()).get(reverse("desk:devices")))
    maker = at_desk(phone.held.made_by)
    assert "Blue phone" in text_of(maker.get(reverse("desk:devices")))
    assert phone.held.device is not None
    maker.post(reverse("desk:revoke", args=[phone.held.device.pk]))
    phone.held.refresh_from_db()
    assert phone.held.revoked_at is not None
    assert phone.tablet.get("/api/sync/pull").status_code == 401
    assert opened(phone.pass_token).status_code == 403


def test_couriers_read_loans_and_change_none(courier_desk: Any) -> None:
    one = lent(new_loan())
    [loaned] = arranging.living_objects(one.loan)
    page = courier_desk.get(reverse("desk:loan", args=[one.loan.pk]))
    assert page.status_code == 200 and "Make a pass" not in text_of(page)
    for name, key in {
        "loan-make": None,
        "loan-edit": one.loan.pk,
        "loan-objects": one.loan.pk,
        "loan-remove": one.loan.pk,
        "pass-make": one.loan.pk,
        "loaned": loaned.pk,
        "loaned-remove": loaned.pk,
    }.items():
        address = reverse(f"desk:{name}", args=[key] if key else [])
        assert courier_desk.post(address, {"holder": "Me"}).status_code == 403, name


def test_a_loan_with_checks_is_not_taken_out(desk: Any) -> None:
    one = lent(new_loan())
    check_of(one)
    answer = desk.post(reverse("desk:loan-remove", args=[one.loan.pk]), follow=True)
    assert "There is a check on this loan, so it stays." in text_of(answer)
    empty = new_loan()
    desk.post(reverse("desk:loan-remove", args=[empty.pk]))
    assert desk.get(reverse("desk:loan", args=[empty.pk])).status_code == 404


def test_whoever_holds_a_pass_is_nobody_s_colleague(head: Any, conservator: Any) -> None:
    """Neither where work is handed over, nor where a walk is given to somebody."""
    holder = phone_of(new_loan()).held.person
    assert holder not in colleagues()
    walkers = HandOutForm().fields["to"].queryset  # type: ignore[attr-defined]
    assert holder not in walkers and conservator in walkers
    assert {head, conservator} <= set(colleagues())
