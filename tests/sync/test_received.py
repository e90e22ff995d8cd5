"""A tablet that lost its storage asks which of its changes the server has had."""

import pytest
from django.test import Client

from survey.ids import new_id
from tests.factories import ExaminationFactory
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def ask(tablet: WireTablet, *changes: str) -> list[str]:
    answer = tablet.request(
        "post", "/api/sync/received", {"changes": list(changes)}, "application/json"
    )
    assert answer.status_code == 200, answer.content
    received: list[str] = answer.json()["received"]
    return received


def test_it_names_the_changes_that_arrived_and_no_others() -> None:
    tablet = WireTablet()
    applied = tablet.change(
        "visit", new_id(), {"purpose": "storage-round", "name": "Morning round"}, 0
    )
    refused = tablet.change("visit", new_id(), {"purpose": "picnic"}, 0)
    tablet.push_all(applied, refused)

    never_sent = str(new_id())
    assert set(ask(tablet, applied["id"], never_sent, refused["id"])) == {
        applied["id"],
        refused["id"],
    }


def test_asking_of_nothing_is_answered_with_nothing() -> None:
    assert ask(WireTablet()) == []


def test_a_record_is_not_mistaken_for_a_change() -> None:
    examination = ExaminationFactory()
    assert ask(WireTablet(), str(examination.pk)) == []


def test_it_takes_at_most_a_thousand_and_only_ids() -> None:
    tablet = WireTablet()
    for changes in ([str(new_id())] * 1001, ["not an id"]):
        answer = tablet.request(
            "post", "/api/sync/received", {"changes": changes}, "application/json"
        )
        assert answer.status_code == 400


def test_only_a_signed_in_tablet_may_ask() -> None:
    answer = Client().post("/api/sync/received", {"changes": []}, "application/json")
    assert answer.status_code == 401
