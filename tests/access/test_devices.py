"""Enrolled devices: how they come in, and how they are kept out."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from survey.access import services
from survey.access.models import AuditEntry, Device, Person
from tests.factories import PASSWORD, DeviceFactory, PersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_guesses_yet() -> None:
    cache.clear()


def sign_in(client: Client, **given: Any) -> Any:
    body = {"username": "wren", "password": PASSWORD, "device_id": None, "device_name": "Slate"}
    return client.post("/api/sign-in", {**body, **given}, "application/json")


def sign_out(client: Client, token: str) -> Any:
    return client.post("/api/sign-out", headers={"Authorization": f"Device {token}"})


@pytest.fixture
def wren() -> Person:
    person: Person = PersonFactory(username="wren", first_name="Wren", last_name="Vale")
    return person


def test_it_signs_in_and_says_who_and_until_when(client: Client, wren: Person) -> None:
    answer = sign_in(client)
    assert answer.status_code == 200
    device = Device.objects.get(pk=answer.json()["device_id"])
    assert (device.person, device.name) == (wren, "Slate")
    assert answer.json()["person"] == {
        "id": str(wren.pk),
        "username": "wren",
        "name": "Wren Vale",
        "role": "conservator",
    }
    assert device.expires_at > timezone.now() + timedelta(days=29)


def test_it_keeps_only_a_hash_of_the_token(client: Client, wren: Person) -> None:
    token = sign_in(client).json()["token"]
    device = Device.objects.get()
    assert token not in str(Device.objects.values().get())
    assert device.token_hash == services.hash_token(token)


@pytest.mark.parametrize(
    "wrong",
    [{"password": "not-the-password"}, {"username": "nobody"}, {"password": PASSWORD + " "}],
)
def test_it_refuses_a_wrong_sign_in(client: Client, wren: Person, wrong: dict[str, str]) -> None:
    answer = sign_in(client, **wrong)
    assert answer.status_code == 401
    assert answer.json()["detail"].endswith("Try again.")
    assert not Device.objects.exists()


def test_it_refuses_a_closed_account(client: Client, wren: Person) -> None:
    Person.objects.update(is_active=False)
    assert sign_in(client).status_code == 401


def test_it_says_what_is_missing(client: Client) -> None:
    answer = client.post("/api/sign-in", {"username": "wren"}, "application/json")
    assert answer.status_code == 400
    assert list(answer.json()) == ["password"]


def test_it_slows_down_guesses_but_not_right_sign_ins(client: Client, wren: Person) -> None:
    for _ in range(12):
        assert sign_in(client).status_code == 200
    for _ in range(10):
        assert sign_in(client, password="guess").status_code == 401
    answer = sign_in(client)
    assert answer.status_code == 429
    assert "then try again" in answer.json()["detail"]
    assert int(answer["Retry-After"]) > 0
    PersonFactory(username="finch")
    assert sign_in(client, username="finch").status_code == 200


def test_guesses_cannot_hide_behind_a_forwarded_address(client: Client, wren: Person) -> None:
    for number in range(10):
        headers = {"X-Forwarded-For": f"10.0.0.{number}"}
        body = {"username": "wren", "password": "guess"}
        client.post("/api/sign-in", body, "application/json", headers=headers)
    assert sign_in(client).status_code == 429


def test_an_expired_device_comes_back_as_itself(client: Client, wren: Person) -> None:
    first = sign_in(client).json()
    Device.objects.update(expires_at=timezone.now() - timedelta(days=1))
    again = sign_in(client, device_id=first["device_id"]).json()
    assert again["device_id"] == first["device_id"]
    assert sign_out(client, first["token"]).status_code == 401
    assert sign_out(client, again["token"]).status_code == 204


def test_nobody_takes_over_the_device_of_another(client: Client, wren: Person) -> None:
    other = DeviceFactory()
    answer = sign_in(client, device_id=str(other.pk)).json()
    assert answer["device_id"] != str(other.pk)
    unheard_of = str(uuid.uuid4())
    assert sign_in(client, device_id=unheard_of).json()["device_id"] != unheard_of


def test_signing_out_ends_the_token(client: Client, wren: Person) -> None:
    token = sign_in(client).json()["token"]
    assert sign_out(client, token).status_code == 204
    answer = sign_out(client, token)
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Device"
    assert "signed out" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ({"expires_at": timezone.now() - timedelta(seconds=1)}, "run out"),
        ({"revoked_at": timezone.now()}, "signed out"),
        ({"token_hash": "0" * 64}, "does not know"),
    ],
)
def test_it_says_why_a_token_is_not_taken(
    client: Client, altered: dict[str, Any], said: str
) -> None:
    device = DeviceFactory(token="known")
    Device.objects.filter(pk=device.pk).update(**altered)
    answer = sign_out(client, "known")
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Device"
    assert said in answer.json()["detail"]
    assert "stays there" in answer.json()["detail"]


def test_a_closed_account_closes_its_devices(client: Client) -> None:
    DeviceFactory(token="known", person__is_active=False)
    assert sign_out(client, "known").status_code == 401


def test_it_marks_a_device_seen_at_most_once_a_minute(client: Client) -> None:
    DeviceFactory(token="known")
    headers = {"Authorization": "Device known"}
    client.get("/api/sync/pull", headers=headers)
    first = Device.objects.get().last_seen_at
    assert first is not None
    with CaptureQueriesContext(connection) as asked:
        client.get("/api/sync/pull", headers=headers)
    assert Device.objects.get().last_seen_at == first
    # Nor does it ask to write: a pull would wait for every push under way.
    assert not [query["sql"] for query in asked if query["sql"].startswith("UPDATE")]
    Device.objects.update(last_seen_at=first - timedelta(minutes=2))
    client.get("/api/sync/pull", headers=headers)
    assert Device.objects.get().last_seen_at >= first


def test_revoking_is_noted_once(wren: Person) -> None:
    device, _ = services.enrol(wren, "Slate")
    head = PersonFactory()
    services.revoke(device, head)
    services.revoke(device, head)
    noted = AuditEntry.objects.filter(action="signed out")
    assert [(entry.person, entry.subject, entry.device) for entry in noted] == [
        (head, "Slate", device)
    ]


def test_a_refused_sign_in_is_noted_without_the_password(client: Client, wren: Person) -> None:
    sign_in(client, password="my-other-secret")
    entry = AuditEntry.objects.get()
    assert (entry.action, entry.subject, entry.person) == ("sign-in refused", "wren", None)
    assert "my-other-secret" not in str(AuditEntry.objects.values().get())
