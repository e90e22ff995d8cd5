"""A courier's pass: it opens on one device, until its loan's end, and not once it is withdrawn."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.utils import timezone

from survey.access.models import AuditEntry, Device, LoanPass, Person
from survey.access.services import hash_token, revoke
from survey.loans import arranging
from survey.loans.models import Loan
from survey.sync.services import Refused
from tests.factories import PASSWORD, DeviceFactory, PersonFactory
from tests.loans.museum import DEVICE_TOKEN, Phone, new_loan, opened, phone_of
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db
PULL = "/api/sync/pull"


@pytest.fixture
def loan() -> Loan:
    return new_loan()


def given(loan: Loan) -> tuple[LoanPass, str]:
    return arranging.give_pass(loan, "Tobias Fell", PersonFactory())


def test_it_signs_a_device_in_for_its_holder_and_says_which_loan(loan: Loan) -> None:
    made, token = given(loan)
    answer = opened(token)
    assert answer.status_code == 200
    said = answer.json()
    assert said["loan"] == str(loan.pk)
    assert said["person"]["name"] == "Tobias Fell" and said["person"]["role"] == "courier"
    made.refresh_from_db()
    assert made.device is not None and said["device_id"] == str(made.device.pk)
    assert made.device.name == "Blue phone"
    assert made.device.scope == {
        "locations": [],
        "loan": str(loan.pk),
        "person": str(made.person_id),
    }
    assert WireTablet(made.device, said["token"]).get(PULL).status_code == 200


def test_neither_token_is_kept(loan: Loan) -> None:
    made, token = given(loan)
    opened(token)
    kept = str([*LoanPass.objects.values(), *Device.objects.values(), *AuditEntry.objects.values()])
    assert token not in kept and DEVICE_TOKEN not in kept
    assert LoanPass.objects.get(pk=made.pk).token_hash == hash_token(token)


def test_the_same_device_may_ask_again_when_the_answer_was_lost(loan: Loan) -> None:
    _, token = given(loan)
    first, second = opened(token), opened(token)
    assert first.json() == second.json()
    assert Device.objects.count() == 1
    assert AuditEntry.objects.filter(action="pass opened").count() == 1


def test_it_opens_on_no_second_device(loan: Loan) -> None:
    phone = phone_of(loan)
    answer = opened(phone.pass_token, "e" * 43, "Another phone")
    assert answer.status_code == 403
    assert "opened on another device (Blue phone), and opens on one only" in answer.json()["detail"]
    assert Device.objects.count() == 1
    assert phone.tablet.get(PULL).status_code == 200


def test_a_made_up_token_opens_nothing(loan: Loan) -> None:
    given(loan)
    answer = opened("made-up")
    assert answer.status_code == 403
    assert answer.json()["detail"].startswith("This is not a pass of this server.")
    assert AuditEntry.objects.filter(action="pass refused").exists()


def test_a_device_token_too_short_to_be_secret_is_not_taken(loan: Loan) -> None:
    _, token = given(loan)
    assert opened(token, "short").status_code == 400
    assert not Device.objects.exists()


def test_withdrawn_it_opens_nothing_and_its_device_is_out(loan: Loan) -> None:
    phone = phone_of(loan)
    unopened, token = given(loan)
    for held in (phone.held, unopened):
        arranging.take_pass_back(held, PersonFactory())
    for one in (phone.pass_token, token):
        answer = opened(one)
        assert answer.status_code == 403 and "withdrawn" in answer.json()["detail"]
    answer = phone.tablet.get(PULL)
    assert answer.status_code == 401
    assert answer.json()["detail"].startswith("This pass was withdrawn. What is on this device ")
    assert "ended_at" not in answer.json()
    assert not unopened.is_open(timezone.now())


def test_it_ends_with_its_loan(loan: Loan) -> None:
    phone = phone_of(loan)
    yesterday = timezone.localdate() - timedelta(days=1)
    assert timezone.localdate(phone.held.expires_at) == loan.last_day
    arranging.edit_loan(loan, PersonFactory(), {"last_day": yesterday})
    refused = phone.tablet.get(PULL)
    assert refused.status_code == 401 and refused.headers["WWW-Authenticate"] == "Device"
    assert refused.json()["detail"].startswith(f"This pass ended on {yesterday:%-d %B %Y}. ")
    ended = datetime.fromisoformat(refused.json()["ended_at"])
    assert timezone.localdate(ended) == yesterday
    answer = opened(phone.pass_token)
    assert answer.status_code == 403
    assert f"ended on {yesterday:%-d %B %Y}" in answer.json()["detail"]


def test_it_lasts_as_long_as_its_loan_is_made_to_last(loan: Loan) -> None:
    phone = phone_of(loan)
    today = timezone.localdate()
    arranging.edit_loan(loan, PersonFactory(), {"last_day": today - timedelta(days=1)})
    arranging.edit_loan(loan, PersonFactory(), {"last_day": today + timedelta(days=9)})
    assert phone.tablet.get(PULL).status_code == 200
    phone.held.refresh_from_db()
    assert timezone.localdate(phone.held.expires_at) == today + timedelta(days=9)


def test_the_last_day_is_the_museum_s_own(settings: Any, loan: Loan) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    with timezone.override("Pacific/Auckland"):
        end = arranging.end_of(loan)
        assert timezone.localtime(end).date() == loan.last_day
        assert timezone.localtime(end + timedelta(seconds=1)).date() > loan.last_day


def test_signed_out_on_its_device_it_does_not_open_again(loan: Loan) -> None:
    phone = phone_of(loan)
    assert phone.tablet.request("post", "/api/sign-out").status_code == 204
    answer = opened(phone.pass_token)
    assert answer.status_code == 403 and "signed out" in answer.json()["detail"]
    assert not LoanPass.objects.get(pk=phone.held.pk).is_open(timezone.now())


def test_one_key_is_not_taken_for_two_passes(loan: Loan) -> None:
    phone_of(loan)
    _, token = given(loan)
    answer = opened(token)
    assert answer.status_code == 403 and "open the link once more" in answer.json()["detail"]
    assert opened(token, "e" * 43).status_code == 200


def test_a_device_that_is_revoked_does_not_open_it_again(loan: Loan) -> None:
    phone = phone_of(loan)
    assert phone.held.device is not None
    revoke(phone.held.device, PersonFactory())
    assert opened(phone.pass_token).status_code == 403


def test_no_password_signs_its_holder_in(client: Client, loan: Loan) -> None:
    made, token = given(loan)
    for password in ("", token, PASSWORD, made.person.password):
        body = {"username": made.person.username, "password": password or " "}
        assert client.post("/api/sign-in", body, "application/json").status_code == 401
        assert not client.login(**body)


def test_none_is_made_for_a_loan_that_has_ended() -> None:
    over = new_loan(
        first_day=timezone.localdate() - timedelta(days=30),
        last_day=timezone.localdate() - timedelta(days=1),
    )
    with pytest.raises(Refused, match="Change the last day first"):
        given(over)
    assert not LoanPass.objects.exists() and not Person.objects.filter(role="courier").exists()


def test_couriers_make_and_withdraw_none(loan: Loan) -> None:
    courier = PersonFactory(role=Person.Role.COURIER)
    phone = phone_of(loan)
    with pytest.raises(PermissionDenied):
        arranging.give_pass(loan, "A friend", courier)
    with pytest.raises(PermissionDenied):
        arranging.take_pass_back(phone.held, courier)
    assert LoanPass.objects.count() == 1


def test_who_made_and_opened_and_withdrew_it_is_in_the_trail(loan: Loan) -> None:
    phone = phone_of(loan)
    registrar = PersonFactory()
    arranging.take_pass_back(phone.held, registrar)
    trail = AuditEntry.objects.filter(action__startswith="pass ").order_by("at", "pk")
    assert [(one.action, one.person) for one in trail] == [
        ("pass made", phone.held.made_by),
        ("pass opened", phone.held.person),
        ("pass withdrawn", registrar),
    ]


def test_passes_of_another_loan_keep_their_end(loan: Loan) -> None:
    other = phone_of(new_loan())
    phone_of(loan, "e" * 43)
    arranging.edit_loan(
        loan, PersonFactory(), {"last_day": timezone.localdate() - timedelta(days=1)}
    )
    assert other.tablet.get(PULL).status_code == 200


def test_an_account_s_device_is_not_held_to_a_loan() -> None:
    tablet = WireTablet(DeviceFactory(token="slate"))
    assert tablet.get(PULL).status_code == 200
    assert not tablet.device.is_of_pass


def test_phone_says_what_it_is(loan: Loan) -> None:
    phone: Phone = phone_of(loan)
    assert phone.held.device is not None and phone.held.device.is_of_pass
    assert phone.held.is_open(timezone.now())
