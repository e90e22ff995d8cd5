"""Devices at the desk, and the way to the tablet."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.desk.conftest import text_of
from tests.factories import DeviceFactory

pytestmark = pytest.mark.django_db


def test_a_person_sees_and_revokes_only_their_own(desk, conservator):
    own = DeviceFactory(person=conservator, name="Store tablet")
    other = DeviceFactory(name="Another's phone")
    page = text_of(desk.get(reverse("desk:devices")))
    assert "Store tablet" in page and "Another's phone" not in page
    assert desk.post(reverse("desk:revoke", args=[other.pk])).status_code == 404
    desk.post(reverse("desk:revoke", args=[own.pk]))
    own.refresh_from_db()
    other.refresh_from_db()
    assert own.revoked_at is not None and other.revoked_at is None


def test_the_head_sees_and_revokes_all(head_desk):
    device = DeviceFactory(name="Lost phone")
    assert "Lost phone" in text_of(head_desk.get(reverse("desk:devices")))
    head_desk.post(reverse("desk:revoke", args=[device.pk]))
    device.refresh_from_db()
    assert device.revoked_at is not None


def test_state_is_told_in_words(head_desk):
    now = timezone.now()
    DeviceFactory(name="On")
    DeviceFactory(name="Over", expires_at=now - timedelta(days=1))
    DeviceFactory(name="Taken", revoked_at=now)
    page = text_of(head_desk.get(reverse("desk:devices")))
    assert "Signed in until" in page and "Sign-in ended" in page and "Revoked" in page
    assert page.count("Revoke On") == 1 and "Revoke Over" not in page


def test_the_way_to_the_tablet_shows_the_address_as_text_and_as_a_code(desk):
    page = desk.get(reverse("desk:tablet"))
    assert "http://testserver/field/" in text_of(page)
    assert "<svg" in page.content.decode()
