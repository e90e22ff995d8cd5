"""Old and new apps and servers: whoever is too far apart is told so, before anything is read."""

from typing import Any

import pytest
from django.test import Client

from survey.sync import protocol
from survey.sync.models import Change
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db
VISIT = {"purpose": "bench", "name": "At the bench"}


def push(version: str | None) -> Any:
    tablet = WireTablet()
    headers = {} if version is None else {protocol.HEADER: version}
    change = tablet.change("visit", "0198c5d2-0000-7000-8000-000000000001", VISIT, 0)
    return tablet.request(
        "post", "/api/sync/push", {"changes": [change]}, "application/json", **headers
    )


@pytest.mark.parametrize("version", [None, "1"])
def test_it_speaks_with_an_app_of_its_own_version_and_one_that_says_none(
    version: str | None,
) -> None:
    assert push(version).status_code == 200


@pytest.mark.parametrize("version", [None, "1", "0", "one", "²", ""])
def test_an_app_that_is_too_old_is_refused_whole(
    monkeypatch: pytest.MonkeyPatch, version: str | None
) -> None:
    monkeypatch.setattr(protocol, "OLDEST", 2)
    monkeypatch.setattr(protocol, "NEWEST", 3)
    answer = push(version)
    assert answer.status_code == 501
    said = answer.json()
    assert "too old for the server" in said.pop("detail")
    assert said == {"oldest": 2, "newest": 3}
    assert not Change.objects.exists()


def test_an_app_that_is_too_new_is_told_that_the_server_is_old() -> None:
    answer = push("2")
    assert answer.status_code == 501
    assert "server is older than this device's Fieldleaf" in answer.json()["detail"]
    assert not Change.objects.exists()


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("post", "/api/sign-in"),
        ("get", "/api/sync/pull"),
        ("get", "/api/vocabulary"),
        ("post", "/api/uploads/"),
    ],
)
def test_every_request_of_a_tablet_is_looked_at(method: str, path: str) -> None:
    answer = WireTablet().request(method, path, **{protocol.HEADER: "99"})
    assert answer.status_code == 501


def test_signing_in_with_an_old_app_is_refused_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocol, "OLDEST", 2)
    assert Client().post("/api/sign-in", {}, "application/json").status_code == 501


def test_what_is_no_tablet_has_no_version(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocol, "OLDEST", 2)
    assert Client().get("/api/sync/pull").status_code == 401
