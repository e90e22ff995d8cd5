"""Moves: where an object went, and that it then stands there."""

from datetime import timedelta

import pytest
from django.utils import timezone

from survey.catalogue import services
from survey.catalogue.models import Move
from survey.sync.models import Change
from survey.sync.services import Refused
from tests.factories import LocationFactory, ObjectFactory, PersonFactory
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def test_an_object_stands_where_it_was_moved() -> None:
    item, shelf, person = ObjectFactory(), LocationFactory(), PersonFactory()
    before = item.location
    move = services.move_object(item, person, to_location=shelf, note="Cabinet repaired")
    assert item.location == shelf
    assert (move.from_location, move.to_location, move.person) == (before, shelf, person)
    assert Change.objects.filter(entity="object", entity_id=str(item.pk), person=person).exists()


def test_an_object_can_go_outside_the_tree_and_back() -> None:
    item, shelf, person = ObjectFactory(), LocationFactory(), PersonFactory()
    services.move_object(item, person, to_place="Framer’s workshop")
    assert (item.location, item.off_site_place) == (None, "Framer’s workshop")
    back = services.move_object(item, person, to_location=shelf)
    assert (item.location, item.off_site_place) == (shelf, "")
    assert back.from_place == "Framer’s workshop"


def test_a_move_says_where_to_and_says_one_place() -> None:
    item, person = ObjectFactory(), PersonFactory()
    with pytest.raises(Refused, match="Say where it went"):
        services.move_object(item, person)
    with pytest.raises(Refused, match="Say one of the two"):
        services.move_object(item, person, to_location=LocationFactory(), to_place="Framer")
    assert not Move.objects.exists()


def test_a_tablets_move_takes_the_object_along() -> None:
    tablet, item, shelf = WireTablet(), ObjectFactory(), LocationFactory()
    before = item.location
    key = tablet.made("move", object=str(item.pk), to_location=str(shelf.pk))
    item.refresh_from_db()
    assert item.location == shelf
    move = Move.objects.get(pk=key)
    assert (move.person, move.from_location) == (tablet.device.person, before)
    rows = {row["id"]: row for row in tablet.pull()}
    assert rows[str(item.pk)]["fields"]["location"] == str(shelf.pk)
    assert rows[key]["fields"]["person_name"] == tablet.device.person.name


def test_an_older_move_that_comes_late_is_kept_but_moves_nothing() -> None:
    tablet, item = WireTablet(), ObjectFactory()
    newer, older = LocationFactory(), LocationFactory()
    now = timezone.now()
    tablet.made("move", object=str(item.pk), to_location=str(newer.pk), at=now.isoformat())
    hour_before = (now - timedelta(hours=1)).isoformat()
    tablet.made("move", object=str(item.pk), to_location=str(older.pk), at=hour_before)
    item.refresh_from_db()
    assert item.location == newer
    assert item.moves.count() == 2


def test_a_tablet_whose_move_comes_late_is_told_again_where_the_object_stands() -> None:
    tablet, item = WireTablet(), ObjectFactory()
    newer, older = LocationFactory(), LocationFactory()
    now = timezone.now()
    tablet.made("move", object=str(item.pk), to_location=str(newer.pk), at=now.isoformat())
    cursor = tablet.get("/api/sync/pull?cursor=0").json()["cursor"]
    hour_before = (now - timedelta(hours=1)).isoformat()
    tablet.made("move", object=str(item.pk), to_location=str(older.pk), at=hour_before)
    rows = tablet.get(f"/api/sync/pull?cursor={cursor}").json()["rows"]
    [told] = [row for row in rows if row["entity"] == "object"]
    assert told["fields"]["location"] == str(newer.pk)


def test_it_refuses_to_rewrite_a_move() -> None:
    tablet, item = WireTablet(), ObjectFactory()
    key = tablet.made("move", object=str(item.pk), to_place="Framer")
    assert "record another move" in tablet.refusal("move", key, to_place="Library")[""]
    assert "record another move" in tablet.refusal("move", key, deleted=True)[""]


def test_it_refuses_a_move_of_the_day_after_tomorrow() -> None:
    tablet, item = WireTablet(), ObjectFactory()
    ahead = (timezone.now() + timedelta(days=2)).isoformat()
    reasons = tablet.refusal("move", object=str(item.pk), to_place="Framer", at=ahead)
    assert "lies more than a day ahead" in reasons["at"]
